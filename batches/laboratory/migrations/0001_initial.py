
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
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
                    name='Sample',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('code', models.CharField(max_length=24)),
                        ('spot', models.CharField(blank=True, help_text='Where in the place, or from which part', max_length=120)),
                        ('laboratory', models.CharField(max_length=120)),
                        ('taken_at', models.DateTimeField()),
                        ('sent_at', models.DateTimeField(blank=True, null=True)),
                        ('temperature_c', models.FloatField(blank=True, help_text='Of the sample when it was sent, °C', null=True)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='samples', to='lots.lot')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='samples', to='premises.place')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='samples', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('verifies', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.controlpoint')),
                    ],
                    options={
                        'ordering': ['-taken_at', '-recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='SampleTest',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('position', models.PositiveSmallIntegerField()),
                        ('kind', models.CharField(choices=[('count', 'count'), ('absence', 'presence or absence'), ('quantity', 'measured value')], max_length=10)),
                        ('parameter', models.CharField(help_text='The organism, or the key of a quantity', max_length=120)),
                        ('n', models.PositiveSmallIntegerField(default=1)),
                        ('c', models.PositiveSmallIntegerField(default=0)),
                        ('m', models.FloatField(blank=True, null=True)),
                        ('largest', models.FloatField(blank=True, help_text='M', null=True)),
                        ('unit', models.CharField(blank=True, max_length=16)),
                        ('absent_in', models.CharField(blank=True, max_length=16)),
                        ('criterion', models.CharField(blank=True, help_text='Key of the value in the library', max_length=80)),
                        ('source', models.TextField(blank=True)),
                        ('fewer_because', models.TextField(blank=True, help_text='Why fewer units than the criterion asks for')),
                        ('sample', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tests', to='laboratory.sample')),
                    ],
                    options={
                        'ordering': ['position'],
                    },
                ),
                migrations.CreateModel(
                    name='TestResult',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('values', models.JSONField(help_text='As typed, one for each unit')),
                        ('unit', models.CharField(blank=True, max_length=16)),
                        ('method', models.CharField(blank=True, max_length=120)),
                        ('report_number', models.CharField(blank=True, max_length=80)),
                        ('reported_at', models.DateTimeField()),
                        ('ruling', models.CharField(blank=True, choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('code', models.CharField(blank=True, max_length=60)),
                        ('reason', models.TextField(blank=True)),
                        ('facts', models.JSONField(default=dict)),
                        ('replace_reason', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('deviation', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='test_result', to='deviations.deviation')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='laboratory.testresult')),
                        ('test', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='results', to='laboratory.sampletest')),
                    ],
                    options={
                        'ordering': ['recorded_at'],
                    },
                ),
                migrations.AddIndex(
                    model_name='sample',
                    index=models.Index(fields=['premises', '-taken_at'], name='laboratory__premise_45c75b_idx'),
                ),
                migrations.AddConstraint(
                    model_name='sample',
                    constraint=models.UniqueConstraint(fields=('premises', 'code'), name='sample_codes_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='sample',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('lot__isnull', False), ('place__isnull', True)), models.Q(('lot__isnull', True), ('place__isnull', False)), _connector='OR'), name='a_sample_is_of_a_lot_or_of_a_place'),
                ),
                migrations.AddConstraint(
                    model_name='sampletest',
                    constraint=models.UniqueConstraint(fields=('sample', 'position'), name='sample_test_positions_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='sampletest',
                    constraint=models.CheckConstraint(condition=models.Q(('n__gte', 1)), name='a_test_takes_a_unit'),
                ),
                migrations.AddConstraint(
                    model_name='testresult',
                    constraint=models.UniqueConstraint(condition=models.Q(('replaces__isnull', True)), fields=('test',), name='a_test_has_one_first_result'),
                ),
                migrations.AddConstraint(
                    model_name='testresult',
                    constraint=models.CheckConstraint(condition=models.Q(('replaces__isnull', True), models.Q(('replace_reason', ''), _negated=True), _connector='OR'), name='a_replaced_result_has_a_reason'),
                ),
            ]
        )
    ]
