
import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_initial'),
        ('lots', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Release',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('released_at', models.DateTimeField()),
                        ('content_sha256', models.CharField(max_length=64)),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='releases', to='lots.lot')),
                        ('released_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('signature', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                    ],
                    options={
                        'ordering': ['released_at'],
                        'indexes': [models.Index(fields=['lot', 'released_at'], name='release_rel_lot_id_09a922_idx')],
                    },
                ),
            ]
        )
    ]
