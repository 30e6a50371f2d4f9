
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('checks', '0001_initial'),
        ('deviations', '0001_initial'),
        ('lots', '0001_initial'),
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Calibration',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('method', models.CharField(choices=[('ice_point', 'ice point'), ('boiling_point', 'boiling point'), ('reference', 'against a reference'), ('buffers', 'two buffers'), ('certificate', 'certificate of a laboratory')], max_length=14)),
                        ('quantity', models.CharField(max_length=40)),
                        ('performed_at', models.DateTimeField()),
                        ('points', models.JSONField()),
                        ('typed', models.JSONField(default=dict)),
                        ('tolerance', models.FloatField(blank=True, null=True)),
                        ('expanded_uncertainty', models.FloatField(help_text='U (k = 2) of the instrument from now on, SI')),
                        ('found_ruling', models.CharField(choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('found_reason', models.TextField()),
                        ('found_facts', models.JSONField(default=dict)),
                        ('left_ruling', models.CharField(choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('left_reason', models.TextField()),
                        ('left_facts', models.JSONField(default=dict)),
                        ('valid_until', models.DateField(blank=True, null=True)),
                        ('reference', models.CharField(blank=True, help_text='Reference instrument or certificate', max_length=160)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='premises.instrument')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-performed_at', '-recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Doubt',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('reason', models.TextField()),
                        ('calibration', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='doubts', to='calibration.calibration')),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='doubts', to='deviations.deviation')),
                        ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='doubts', to='checks.record')),
                    ],
                    options={
                        'ordering': ['record__observed_at'],
                    },
                ),
                migrations.CreateModel(
                    name='LaterRuling',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('ruling', models.CharField(choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('reason', models.TextField()),
                        ('corrected_ruling', models.CharField(blank=True, choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('corrected_reason', models.TextField(blank=True)),
                        ('judged_by', models.CharField(max_length=60)),
                        ('doubt', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rulings', to='calibration.doubt')),
                        ('limit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.criticallimit')),
                    ],
                    options={
                        'ordering': ['limit__statement'],
                    },
                ),
                migrations.CreateModel(
                    name='DoubtedReading',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('source', models.CharField(max_length=40)),
                        ('about', models.UUIDField()),
                        ('words', models.TextField()),
                        ('read_at', models.DateTimeField()),
                        ('reason', models.TextField()),
                        ('calibration', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='doubted_readings', to='calibration.calibration')),
                        ('deviation', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='doubted_readings', to='deviations.deviation')),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='doubted_readings', to='lots.lot')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                    ],
                    options={
                        'ordering': ['read_at', 'id'],
                        'indexes': [models.Index(fields=['about'], name='calibration_about_5958df_idx')],
                        'constraints': [models.UniqueConstraint(fields=('calibration', 'source', 'about'), name='a_calibration_doubts_a_reading_once')],
                    },
                ),
                migrations.AddIndex(
                    model_name='calibration',
                    index=models.Index(fields=['instrument', '-performed_at'], name='calibration_instrum_f3c03b_idx'),
                ),
                migrations.AddConstraint(
                    model_name='calibration',
                    constraint=models.CheckConstraint(condition=models.Q(('expanded_uncertainty__gte', 0)), name='calibration_uncertainty_not_negative'),
                ),
                migrations.AddIndex(
                    model_name='doubt',
                    index=models.Index(fields=['record'], name='calibration_record__258481_idx'),
                ),
                migrations.AddConstraint(
                    model_name='doubt',
                    constraint=models.UniqueConstraint(fields=('calibration', 'record'), name='a_calibration_doubts_a_record_once'),
                ),
                migrations.AddConstraint(
                    model_name='laterruling',
                    constraint=models.UniqueConstraint(fields=('doubt', 'limit'), name='one_later_ruling_per_limit_of_a_doubt'),
                ),
            ]
        )
    ]
