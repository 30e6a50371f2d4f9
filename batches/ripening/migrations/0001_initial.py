
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
                    name='Care',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('turned', 'turned'), ('washed', 'washed'), ('brushed', 'brushed'), ('pierced', 'pierced'), ('rubbed', 'rubbed with oil or salt'), ('wrapped', 'wrapped')], max_length=12)),
                        ('done_at', models.DateTimeField()),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-done_at'],
                    },
                ),
                migrations.CreateModel(
                    name='CareLot',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('care', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='ripening.care')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='care', to='lots.lot')),
                    ],
                ),
                migrations.CreateModel(
                    name='CareRhythm',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('turned', 'turned'), ('washed', 'washed'), ('brushed', 'brushed'), ('pierced', 'pierced'), ('rubbed', 'rubbed with oil or salt'), ('wrapped', 'wrapped')], max_length=12)),
                        ('every_days', models.PositiveSmallIntegerField()),
                        ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='care_rhythms', to='plan.product')),
                    ],
                    options={
                        'ordering': ['product__name', 'kind'],
                    },
                ),
                migrations.CreateModel(
                    name='RoomLog',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('channel', models.CharField(max_length=200)),
                        ('label', models.CharField(max_length=80)),
                        ('quantity', models.CharField(choices=[('temperature', 'temperature'), ('relative_humidity', 'relative humidity')], max_length=20)),
                        ('expanded_uncertainty', models.FloatField(default=0.0)),
                        ('instrument_unfit', models.TextField(blank=True)),
                        ('starts_at', models.DateTimeField()),
                        ('ends_at', models.DateTimeField()),
                        ('overview', models.BinaryField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='room_logs', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('trace', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='room_logs', to='checks.tracefile')),
                    ],
                    options={
                        'ordering': ['starts_at'],
                    },
                ),
                migrations.CreateModel(
                    name='RoomReading',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('read_at', models.DateTimeField()),
                        ('temperature_c', models.FloatField(blank=True, null=True)),
                        ('relative_humidity', models.FloatField(blank=True, help_text='%', null=True)),
                        ('typed', models.JSONField(default=dict)),
                        ('expanded_uncertainty', models.FloatField(default=0.0)),
                        ('instrument_unfit', models.TextField(blank=True)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='room_readings', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['read_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Weighing',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('pieces', models.PositiveSmallIntegerField(default=1)),
                        ('mass_kg', models.FloatField()),
                        ('typed_mass', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('instrument_unfit', models.TextField(blank=True)),
                        ('weighed_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='weighings', to='lots.lot')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['weighed_at'],
                    },
                ),
                migrations.AddIndex(
                    model_name='care',
                    index=models.Index(fields=['premises', '-done_at'], name='ripening_ca_premise_d2d4ed_idx'),
                ),
                migrations.AddConstraint(
                    model_name='carelot',
                    constraint=models.UniqueConstraint(fields=('care', 'lot'), name='care_is_given_to_a_lot_once'),
                ),
                migrations.AddConstraint(
                    model_name='carerhythm',
                    constraint=models.UniqueConstraint(fields=('product', 'kind'), name='one_rhythm_per_cheese_and_care'),
                ),
                migrations.AddConstraint(
                    model_name='carerhythm',
                    constraint=models.CheckConstraint(condition=models.Q(('every_days__gte', 1)), name='care_is_given_daily_at_most'),
                ),
                migrations.AddIndex(
                    model_name='roomlog',
                    index=models.Index(fields=['place', 'ends_at'], name='ripening_ro_place_i_49b45b_idx'),
                ),
                migrations.AddConstraint(
                    model_name='roomlog',
                    constraint=models.UniqueConstraint(fields=('trace', 'channel'), name='a_channel_is_of_one_room'),
                ),
                migrations.AddIndex(
                    model_name='roomreading',
                    index=models.Index(fields=['place', '-read_at'], name='ripening_ro_place_i_f577b7_idx'),
                ),
                migrations.AddConstraint(
                    model_name='roomreading',
                    constraint=models.CheckConstraint(condition=models.Q(('temperature_c__isnull', False), ('relative_humidity__isnull', False), _connector='OR'), name='a_room_reading_says_something'),
                ),
                migrations.AddConstraint(
                    model_name='weighing',
                    constraint=models.CheckConstraint(condition=models.Q(('mass_kg__gt', 0), ('pieces__gte', 1)), name='a_weighing_weighs_something'),
                ),
            ]
        )
    ]
