import uuid

import django.db.models.deletion
from django.db import migrations, models

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Log',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('key', models.CharField(max_length=120, unique=True)),
                ('size', models.PositiveBigIntegerField(default=0)),
                ('peaks', models.JSONField(default=list, help_text='Roots of the complete subtrees, largest first, hexadecimal.')),
                ('opened_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='Signature',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('signer_id', models.CharField(max_length=64)),
                ('printed_name', models.CharField(max_length=200)),
                ('meaning', models.CharField(max_length=60)),
                ('statement', models.TextField(help_text='What the person attested, as shown.')),
                ('content_sha256', models.CharField(max_length=64)),
                ('content', models.TextField(help_text='Canonical JSON of exactly what the person was shown.')),
                ('method', models.CharField(max_length=30)),
                ('signed_at', models.DateTimeField()),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='signatures', to='ledger.log')),
            ],
            options={
                'ordering': ['signed_at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='Entry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('index', models.PositiveBigIntegerField()),
                ('kind', models.CharField(max_length=60)),
                ('subject', models.CharField(help_text='What the entry is about, such as record:UUID.', max_length=120)),
                ('body', models.TextField()),
                ('leaf_hash', models.CharField(max_length=64)),
                ('subtrees', models.JSONField(default=list)),
                ('recorded_at', models.DateTimeField()),
                ('actor', models.CharField(max_length=300)),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='ledger.log')),
            ],
            options={
                'verbose_name_plural': 'entries',
                'ordering': ['log', 'index'],
                'indexes': [models.Index(fields=['log', 'subject'], name='ledger_entry_subject'), models.Index(fields=['subject'], name='ledger_entry_subject_any')],
                'constraints': [models.UniqueConstraint(fields=('log', 'index'), name='ledger_entry_index_once')],
            },
        ),
        RefuseChanges("ledger_log", allow_update_columns=("size", "peaks")),
        RefuseChanges("ledger_entry"),
        RefuseChanges("ledger_signature"),
    ]
