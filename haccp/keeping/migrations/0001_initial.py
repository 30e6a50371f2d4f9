import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='PremisesExport',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('requested_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('claimed_until', models.DateTimeField(blank=True, null=True)),
                        ('attempts', models.PositiveSmallIntegerField(default=0)),
                        ('stage', models.CharField(blank=True, max_length=80)),
                        ('finished_at', models.DateTimeField(blank=True, null=True)),
                        ('failed_at', models.DateTimeField(blank=True, null=True)),
                        ('failure', models.TextField(blank=True)),
                        ('file', models.FileField(blank=True, upload_to='exports/')),
                        ('sha256', models.CharField(blank=True, max_length=64)),
                        ('size_bytes', models.PositiveBigIntegerField(default=0)),
                        ('row_count', models.PositiveIntegerField(default=0)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('requested_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-requested_at'],
                        'indexes': [models.Index(fields=['premises', '-requested_at'], name='exports_of_a_dairy')],
                    },
                ),
            ],
        ),
    ]
