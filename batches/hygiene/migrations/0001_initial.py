
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
        ('laboratory', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Cleaning',
                    fields=[
                        ('record', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='cleaning', serialize=False, to='checks.record')),
                    ],
                ),
                migrations.CreateModel(
                    name='Swab',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('code', models.CharField(help_text='As written on the tube', max_length=40)),
                        ('taken_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-taken_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Chemical',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('active', models.CharField(blank=True, help_text='Active substance, such as sodium hypochlorite', max_length=80)),
                        ('purpose', models.CharField(choices=[('alkaline', 'alkaline detergent'), ('acid', 'acid descaler'), ('neutral', 'neutral detergent'), ('sanitiser', 'sanitiser')], max_length=10)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='ChemicalLot',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('code', models.CharField(max_length=40)),
                        ('expires_on', models.DateField(blank=True, null=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('chemical', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='hygiene.chemical')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['chemical__name', '-recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='CleaningLot',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('cleaning', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='hygiene.cleaning')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='hygiene.chemicallot')),
                    ],
                ),
                migrations.AddField(
                    model_name='cleaning',
                    name='lots',
                    field=models.ManyToManyField(related_name='+', through='hygiene.CleaningLot', to='hygiene.chemicallot'),
                ),
                migrations.CreateModel(
                    name='Method',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=120)),
                        ('check_key', models.UUIDField()),
                        ('before_use', models.BooleanField(default=True)),
                        ('keeps_clean_s', models.PositiveIntegerField(blank=True, null=True)),
                        ('ends_cleaning_by', models.BooleanField(default=False, help_text='Cleaning by this method is no longer asked for')),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleaning_methods', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='hygiene.method')),
                    ],
                    options={
                        'ordering': ['place__walking_order', 'place__name', 'name'],
                    },
                ),
                migrations.AddField(
                    model_name='cleaning',
                    name='method',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleanings', to='hygiene.method'),
                ),
                migrations.CreateModel(
                    name='MethodChemical',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('chemical', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='hygiene.chemical')),
                        ('method', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='hygiene.method')),
                    ],
                ),
                migrations.AddField(
                    model_name='method',
                    name='chemicals',
                    field=models.ManyToManyField(related_name='+', through='hygiene.MethodChemical', to='hygiene.chemical'),
                ),
                migrations.CreateModel(
                    name='MethodStep',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('position', models.PositiveSmallIntegerField()),
                        ('kind', models.CharField(choices=[('rinse', 'rinse'), ('wash', 'wash'), ('sanitise', 'sanitise'), ('drain', 'drain and dry'), ('look', 'verify')], max_length=10)),
                        ('text', models.CharField(max_length=400)),
                        ('method', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='hygiene.method')),
                    ],
                    options={
                        'ordering': ['position'],
                    },
                ),
                migrations.CreateModel(
                    name='Rota',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('zone', models.PositiveSmallIntegerField(choices=[(1, '1: touches the cheese'), (2, '2: near the cheese'), (3, '3: in the room'), (4, '4: outside the rooms')])),
                        ('first_on', models.DateField()),
                        ('every_days', models.PositiveSmallIntegerField()),
                        ('at_once', models.PositiveSmallIntegerField()),
                        ('control_point_code', models.CharField(help_text='Whose deviation a find opens', max_length=12)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='hygiene.rota')),
                    ],
                ),
                migrations.CreateModel(
                    name='SwabResult',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('swab', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='results', to='hygiene.swab')),
                        ('found', models.CharField(choices=[('nothing', 'Listeria spp. not detected'), ('species', 'Listeria spp. detected'), ('monocytogenes', 'Listeria monocytogenes detected')], max_length=14)),
                        ('laboratory', models.CharField(max_length=120)),
                        ('report', models.CharField(help_text="Number of the laboratory's report", max_length=80)),
                        ('reported_on', models.DateField()),
                        ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='hygiene.swabresult')),
                        ('replace_reason', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ],
                    options={
                        'ordering': ['recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='SwabSent',
                    fields=[
                        ('swab', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='sent', serialize=False, to='hygiene.swab')),
                        ('test', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='swab_sent', to='laboratory.sampletest')),
                    ],
                ),
                migrations.CreateModel(
                    name='SwabPoint',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('zone', models.PositiveSmallIntegerField(choices=[(1, '1: touches the cheese'), (2, '2: near the cheese'), (3, '3: in the room'), (4, '4: outside the rooms')])),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='swab_points', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['zone', 'place__walking_order', 'name'],
                    },
                ),
                migrations.AddField(
                    model_name='swab',
                    name='point',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='swabs', to='hygiene.swabpoint'),
                ),
                migrations.CreateModel(
                    name='UncleanUse',
                    fields=[
                        ('deviation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='unclean_use', serialize=False, to='deviations.deviation')),
                        ('why_unclean', models.TextField()),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                    ],
                ),
                migrations.AddConstraint(
                    model_name='chemical',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='chemical_names_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='chemicallot',
                    constraint=models.UniqueConstraint(fields=('chemical', 'code'), name='chemical_lot_codes_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='cleaninglot',
                    constraint=models.UniqueConstraint(fields=('cleaning', 'lot'), name='a_lot_once_a_cleaning'),
                ),
                migrations.AddConstraint(
                    model_name='methodchemical',
                    constraint=models.UniqueConstraint(fields=('method', 'chemical'), name='a_chemical_once_a_method'),
                ),
                migrations.AddConstraint(
                    model_name='methodstep',
                    constraint=models.UniqueConstraint(fields=('method', 'position'), name='method_steps_have_an_order'),
                ),
                migrations.AddConstraint(
                    model_name='rota',
                    constraint=models.CheckConstraint(condition=models.Q(('at_once__gte', 1), ('every_days__gte', 1)), name='a_rota_asks_for_swabs'),
                ),
                migrations.AddField(
                    model_name='swabresult',
                    name='deviation',
                    field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='swab_result', to='deviations.deviation'),
                ),
                migrations.AddField(
                    model_name='swabresult',
                    name='recorded_by',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
                ),
                migrations.AddConstraint(
                    model_name='swabpoint',
                    constraint=models.UniqueConstraint(fields=('place', 'name'), name='swab_point_names_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='swab',
                    constraint=models.UniqueConstraint(fields=('point', 'code'), name='swab_codes_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='swabresult',
                    constraint=models.UniqueConstraint(condition=models.Q(('replaces__isnull', True)), fields=('swab',), name='a_swab_has_one_first_result'),
                ),
                migrations.AddConstraint(
                    model_name='swabresult',
                    constraint=models.CheckConstraint(condition=models.Q(('replaces__isnull', True), models.Q(('replace_reason', ''), _negated=True), _connector='OR'), name='a_replaced_swab_result_has_a_reason'),
                ),
            ]
        )
    ]
