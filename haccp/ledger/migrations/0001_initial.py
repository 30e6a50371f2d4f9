
import uuid

import django.db.models.deletion
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        NewTables(
            [
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
                        ('name_reference', models.CharField(default='', help_text='What is sealed in the place of the name.', max_length=80)),
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
                        ('actor', models.CharField(help_text='Who did it: a reference to a PersonalText.', max_length=300)),
                        ('log', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='ledger.log')),
                    ],
                    options={
                        'verbose_name_plural': 'entries',
                        'ordering': ['log', 'index'],
                        'indexes': [models.Index(fields=['log', 'subject'], name='ledger_entry_subject'), models.Index(fields=['subject'], name='ledger_entry_subject_any')],
                        'constraints': [models.UniqueConstraint(fields=('log', 'index'), name='ledger_entry_index_once')],
                    },
                ),
                migrations.CreateModel(
                    name='PersonalText',
                    fields=[
                        ('commitment', models.CharField(max_length=64, primary_key=True, serialize=False)),
                        ('salt', models.CharField(max_length=64)),
                        ('text', models.CharField(max_length=300)),
                        ('erased_at', models.DateTimeField(blank=True, null=True)),
                        ('reason', models.CharField(blank=True, max_length=300)),
                        ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.log')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(condition=models.Q(('erased_at__isnull', True)), fields=('log', 'text'), name='ledger_name_once_in_a_log')],
                    },
                ),
                migrations.CreateModel(
                    name='SignedHead',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('size', models.PositiveBigIntegerField()),
                        ('root_hex', models.CharField(max_length=64)),
                        ('signed_at', models.DateTimeField()),
                        ('public_key', models.CharField(max_length=64)),
                        ('signature', models.CharField(max_length=128)),
                        ('stamp', models.BinaryField(null=True)),
                        ('stamped_at', models.DateTimeField(null=True)),
                        ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='heads', to='ledger.log')),
                    ],
                    options={
                        'ordering': ['log', 'size'],
                        'constraints': [models.UniqueConstraint(fields=('log', 'size'), name='ledger_head_once_for_each_size')],
                    },
                ),
            ]
        )
    ]
