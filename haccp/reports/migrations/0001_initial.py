
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
                    name='VisitPack',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('period_from', models.DateField()),
                        ('period_to', models.DateField()),
                        ('choice', models.JSONField(blank=True, default=dict, help_text='which part it shows; empty for the whole dairy')),
                        ('language', models.CharField(choices=[('en-gb', 'English'), ('fr', 'français')], default='en-gb', help_text="of the paper's own words", max_length=8)),
                        ('choice_words', models.CharField(blank=True, max_length=240)),
                        ('site', models.CharField(blank=True, help_text='the address that its QR codes lead to', max_length=200)),
                        ('requested_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('claimed_until', models.DateTimeField(blank=True, null=True)),
                        ('attempts', models.PositiveSmallIntegerField(default=0)),
                        ('stage', models.CharField(blank=True, help_text='What is being made now, for the progress bar', max_length=80)),
                        ('done_parts', models.PositiveIntegerField(default=0)),
                        ('total_parts', models.PositiveIntegerField(default=0)),
                        ('finished_at', models.DateTimeField(blank=True, null=True)),
                        ('failed_at', models.DateTimeField(blank=True, null=True)),
                        ('failure', models.TextField(blank=True)),
                        ('cancelled_at', models.DateTimeField(blank=True, null=True)),
                        ('file', models.FileField(blank=True, upload_to='packs/%Y/%m/')),
                        ('sha256', models.CharField(blank=True, max_length=64)),
                        ('size_bytes', models.PositiveBigIntegerField(default=0)),
                        ('page_count', models.PositiveIntegerField(default=0)),
                        ('contents', models.JSONField(default=dict, help_text='section -> number of records it shows')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='packs', to='premises.premises')),
                        ('requested_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-requested_at'],
                        'indexes': [models.Index(fields=['premises', '-requested_at'], name='packs_of_a_dairy')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('period_from__lte', models.F('period_to'))), name='a_period_runs_forward'), models.CheckConstraint(condition=models.Q(models.Q(('failed_at__isnull', True), ('finished_at__isnull', True)), models.Q(('cancelled_at__isnull', True), ('finished_at__isnull', True)), models.Q(('cancelled_at__isnull', True), ('failed_at__isnull', True)), _connector='OR'), name='a_pack_ends_one_way')],
                    },
                ),
            ]
        )
    ]
