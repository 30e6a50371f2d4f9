
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
        ('lots', '0001_initial'),
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Dose',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('ingredient_kind', models.CharField(choices=[('culture', 'starter culture'), ('mould', 'mould or ripening culture'), ('rennet', 'rennet'), ('calcium_chloride', 'calcium chloride'), ('salt', 'salt'), ('water', 'water'), ('packaging', 'packaging'), ('other', 'other ingredient')], max_length=16)),
                        ('name', models.CharField(blank=True, max_length=120)),
                        ('amount', models.FloatField()),
                        ('unit', models.CharField(max_length=8)),
                        ('per_milk_l', models.FloatField(default=100.0)),
                    ],
                    options={
                        'ordering': ['stage__position', 'ingredient_kind', 'name'],
                    },
                ),
                migrations.CreateModel(
                    name='HeatSheet',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('process', models.CharField(choices=[('batch', 'in a vat'), ('continuous', 'continuous, in a holding tube'), ('thermisation', 'thermised')], max_length=12)),
                        ('fat_percent', models.FloatField()),
                        ('sweetened', models.BooleanField(default=False)),
                        ('cut_in_c', models.FloatField(blank=True, null=True)),
                        ('cut_out_c', models.FloatField(blank=True, null=True)),
                        ('holding_tube_s', models.FloatField(blank=True, null=True)),
                        ('typed', models.JSONField(default=dict)),
                        ('thermometer_unfit', models.TextField(blank=True)),
                        ('air_thermometer_unfit', models.TextField(blank=True)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('thermometer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('air_thermometer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='heat_sheets', to='checks.record')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Make',
                    fields=[
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='make', serialize=False, to='lots.lot')),
                        ('note', models.TextField(blank=True)),
                        ('vat', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                    ],
                ),
                migrations.CreateModel(
                    name='PhosphataseResult',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('activity_mu_per_l', models.FloatField()),
                        ('typed_text', models.CharField(max_length=40)),
                        ('sampled_at', models.DateTimeField()),
                        ('laboratory', models.CharField(blank=True, max_length=120)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('make', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='phosphatase', to='making.make')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['sampled_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Procedure',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('number', models.PositiveIntegerField()),
                        ('note', models.TextField(blank=True, help_text='What changed, and why')),
                        ('drafted_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('in_use_from', models.DateTimeField(blank=True, null=True)),
                        ('drafted_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='procedures', to='plan.product')),
                        ('put_in_use_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['product', '-number'],
                    },
                ),
                migrations.AddField(
                    model_name='make',
                    name='procedure',
                    field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='makes', to='making.procedure'),
                ),
                migrations.CreateModel(
                    name='ProcedureMilk',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('species', models.CharField(choices=[('cow', 'cow'), ('goat', 'goat'), ('ewe', 'ewe'), ('buffalo', 'buffalo')], max_length=12)),
                        ('share_low_percent', models.FloatField(default=0.0)),
                        ('share_high_percent', models.FloatField(default=100.0)),
                        ('procedure', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='milks', to='making.procedure')),
                    ],
                    options={
                        'ordering': ['species'],
                    },
                ),
                migrations.CreateModel(
                    name='ProcedureStage',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('position', models.PositiveSmallIntegerField()),
                        ('kind', models.CharField(choices=[('warm', 'warm the milk'), ('ripen', 'add starter, ripen the milk'), ('rennet', 'add rennet'), ('flocculation', 'watch for flocculation'), ('cut', 'cut the curd'), ('heal', 'let the curd heal'), ('stir', 'stir'), ('drain', 'drain the whey'), ('mould', 'fill the moulds'), ('press', 'press'), ('turn', 'turn'), ('salt', 'salt'), ('dry', 'dry'), ('pierce', 'pierce'), ('ripening', 'ripen the cheese'), ('pack', 'pack')], max_length=16)),
                        ('name', models.CharField(max_length=80)),
                        ('instruction', models.TextField(blank=True)),
                        ('temperature_low_c', models.FloatField(blank=True, null=True)),
                        ('temperature_target_c', models.FloatField(blank=True, null=True)),
                        ('temperature_high_c', models.FloatField(blank=True, null=True)),
                        ('ph_low', models.FloatField(blank=True, null=True)),
                        ('ph_target', models.FloatField(blank=True, null=True)),
                        ('ph_high', models.FloatField(blank=True, null=True)),
                        ('acidity_low_percent', models.FloatField(blank=True, null=True)),
                        ('acidity_target_percent', models.FloatField(blank=True, null=True)),
                        ('acidity_high_percent', models.FloatField(blank=True, null=True)),
                        ('duration_low_s', models.FloatField(blank=True, null=True)),
                        ('duration_target_s', models.FloatField(blank=True, null=True)),
                        ('duration_high_s', models.FloatField(blank=True, null=True)),
                        ('multiplier', models.FloatField(blank=True, null=True)),
                        ('salt_percent', models.FloatField(blank=True, null=True)),
                        ('press_kg', models.FloatField(blank=True, null=True)),
                        ('lever_advantage', models.FloatField(blank=True, null=True)),
                        ('face_diameter_m', models.FloatField(blank=True, null=True)),
                        ('cheeses_side_by_side', models.PositiveSmallIntegerField(blank=True, null=True)),
                        ('procedure', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='stages', to='making.procedure')),
                    ],
                    options={
                        'ordering': ['position'],
                    },
                ),
                migrations.CreateModel(
                    name='IngredientUse',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('typed_text', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('used_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('dose', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='making.dose')),
                        ('link', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='use', to='lots.lotlink')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('make', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='uses', to='making.make')),
                        ('stage', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='making.procedurestage')),
                    ],
                    options={
                        'ordering': ['used_at', 'recorded_at'],
                    },
                ),
                migrations.AddField(
                    model_name='dose',
                    name='stage',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='doses', to='making.procedurestage'),
                ),
                migrations.CreateModel(
                    name='StageMark',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('what', models.CharField(choices=[('begun', 'begun'), ('read', 'read'), ('done', 'done'), ('skipped', 'left out')], max_length=8)),
                        ('at', models.DateTimeField()),
                        ('note', models.TextField(blank=True)),
                        ('reason', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='making.stagemark')),
                        ('make', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='marks', to='making.make')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('stage', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='marks', to='making.procedurestage')),
                    ],
                    options={
                        'ordering': ['at', 'recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='StageReading',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('what', models.CharField(choices=[('temperature', 'temperature'), ('ph', 'pH'), ('titratable_acidity', 'titratable acidity'), ('curd_mass', 'weight of the curd'), ('press_mass', 'weight on the press')], max_length=20)),
                        ('value_si', models.FloatField()),
                        ('typed_text', models.CharField(max_length=80)),
                        ('typed_unit', models.CharField(max_length=16)),
                        ('expanded_uncertainty', models.FloatField(default=0.0)),
                        ('unfit', models.TextField(blank=True)),
                        ('ruling', models.CharField(blank=True, max_length=10)),
                        ('said', models.TextField(blank=True)),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('mark', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='making.stagemark')),
                    ],
                    options={
                        'ordering': ['mark__at', 'what'],
                    },
                ),
                migrations.CreateModel(
                    name='ThermometerReading',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('at', models.DateTimeField()),
                        ('indicating_c', models.FloatField(blank=True, null=True)),
                        ('air_space_c', models.FloatField(blank=True, null=True)),
                        ('typed', models.JSONField(default=dict)),
                        ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='thermometers', to='making.heatsheet')),
                    ],
                    options={
                        'ordering': ['at'],
                    },
                ),
                migrations.CreateModel(
                    name='FlowDiversion',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('began_at', models.DateTimeField()),
                        ('ended_at', models.DateTimeField()),
                        ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='diversions', to='making.heatsheet')),
                    ],
                    options={
                        'ordering': ['began_at'],
                        'constraints': [models.CheckConstraint(condition=models.Q(('ended_at__gt', models.F('began_at'))), name='a_diversion_ends_after_it_began')],
                    },
                ),
                migrations.CreateModel(
                    name='MakeYield',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('cheese_kg', models.FloatField()),
                        ('typed_text', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('weighed_at', models.DateTimeField()),
                        ('fat_percent', models.FloatField(blank=True, null=True)),
                        ('protein_percent', models.FloatField(blank=True, null=True)),
                        ('casein_percent', models.FloatField(blank=True, null=True)),
                        ('moisture_percent', models.FloatField(blank=True, null=True)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('make', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='yields', to='making.make')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['weighed_at', 'recorded_at'],
                        'constraints': [models.CheckConstraint(condition=models.Q(('cheese_kg__gt', 0)), name='a_yield_is_above_zero')],
                    },
                ),
                migrations.AddConstraint(
                    model_name='procedure',
                    constraint=models.UniqueConstraint(fields=('product', 'number'), name='procedure_numbers_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='procedure',
                    constraint=models.UniqueConstraint(condition=models.Q(('in_use_from__isnull', True)), fields=('product',), name='one_draft_of_a_procedure'),
                ),
                migrations.AddConstraint(
                    model_name='proceduremilk',
                    constraint=models.UniqueConstraint(fields=('procedure', 'species'), name='a_milk_is_named_once'),
                ),
                migrations.AddConstraint(
                    model_name='proceduremilk',
                    constraint=models.CheckConstraint(condition=models.Q(('share_high_percent__lte', 100), ('share_low_percent__gte', 0), ('share_low_percent__lte', models.F('share_high_percent'))), name='shares_of_milk_are_per_cent'),
                ),
                migrations.AddConstraint(
                    model_name='dose',
                    constraint=models.CheckConstraint(condition=models.Q(('amount__gt', 0), ('per_milk_l__gt', 0)), name='a_dose_is_above_zero'),
                ),
                migrations.AddIndex(
                    model_name='stagemark',
                    index=models.Index(fields=['make', 'stage'], name='making_stag_make_id_bd8687_idx'),
                ),
                migrations.AddConstraint(
                    model_name='stagemark',
                    constraint=models.CheckConstraint(condition=models.Q(('corrects__isnull', True), models.Q(('reason', ''), _negated=True), _connector='OR'), name='a_corrected_mark_says_why'),
                ),
                migrations.AddConstraint(
                    model_name='stagereading',
                    constraint=models.UniqueConstraint(fields=('mark', 'what'), name='one_reading_of_a_kind_at_a_mark'),
                ),
            ]
        )
    ]
