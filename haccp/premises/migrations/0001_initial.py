
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_initial'),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='User',
                    fields=[
                        ('password', models.CharField(max_length=128, verbose_name='password')),
                        ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('email', models.EmailField(max_length=254, unique=True, verbose_name='e-mail')),
                        ('name', models.CharField(max_length=120, verbose_name='name')),
                        ('is_active', models.BooleanField(default=True)),
                        ('joined_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('temperature_unit', models.CharField(choices=[('°C', 'Celsius (°C)'), ('°F', 'Fahrenheit (°F)')], default='°C', max_length=4)),
                        ('volume_unit', models.CharField(choices=[('L', 'litres'), ('gal', 'US gallons')], default='L', max_length=4)),
                        ('mass_unit', models.CharField(choices=[('kg', 'kilograms'), ('lb', 'pounds')], default='kg', max_length=4)),
                    ],
                    options={
                        'abstract': False,
                    },
                ),
                migrations.CreateModel(
                    name='Producer',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=160)),
                    ],
                ),
                migrations.CreateModel(
                    name='Membership',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('role', models.CharField(choices=[('owner', 'owner'), ('maker', 'cheesemaker'), ('helper', 'helper'), ('reviewer', 'reviewer'), ('consultant', 'consultant'), ('inspector', 'inspector')], max_length=12)),
                        ('since', models.DateTimeField(default=django.utils.timezone.now)),
                        ('until', models.DateTimeField(blank=True, help_text='set for visitors: ends by itself', null=True)),
                        ('left_at', models.DateTimeField(blank=True, null=True)),
                        ('ended_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('given_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='DeviceToken',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('token_sha256', models.CharField(max_length=64, unique=True)),
                        ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('last_used_at', models.DateTimeField(blank=True, null=True)),
                        ('revoked_at', models.DateTimeField(blank=True, null=True)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='devices', to='premises.membership')),
                    ],
                ),
                migrations.CreateModel(
                    name='Premises',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=160)),
                        ('address', models.TextField(blank=True)),
                        ('approval_number', models.CharField(blank=True, max_length=40)),
                        ('time_zone', models.CharField(default='UTC', max_length=64)),
                        ('jurisdiction', models.CharField(choices=[('EU', 'European Union'), ('UK', 'United Kingdom'), ('US', 'United States'), ('AU', 'Australia and New Zealand'), ('CA', 'Canada')], max_length=4)),
                        ('log', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.log')),
                        ('producer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='premises', to='premises.producer')),
                    ],
                    options={
                        'verbose_name_plural': 'premises',
                    },
                ),
                migrations.CreateModel(
                    name='Place',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('kind', models.CharField(choices=[('milk_store', 'milk store'), ('vat', 'vat'), ('make_room', 'make room'), ('ripening_room', 'ripening room'), ('cold_store', 'cold store'), ('equipment', 'piece of equipment'), ('other', 'other place')], max_length=16)),
                        ('walking_order', models.PositiveSmallIntegerField(default=0)),
                        ('added_at', models.DateTimeField(blank=True, null=True)),
                        ('retired_at', models.DateTimeField(blank=True, null=True)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='places', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['walking_order', 'name'],
                    },
                ),
                migrations.AddField(
                    model_name='membership',
                    name='premises',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to='premises.premises'),
                ),
                migrations.CreateModel(
                    name='Instrument',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('kind', models.CharField(choices=[('thermometer', 'thermometer'), ('recorder', 'temperature recorder'), ('ph_meter', 'pH meter'), ('hygrometer', 'hygrometer'), ('scale', 'scale'), ('test_kit', 'test kit')], max_length=16)),
                        ('serial', models.CharField(blank=True, max_length=60)),
                        ('expanded_uncertainty', models.FloatField(default=0.0, help_text='U (k = 2, about 95 %) in the unit of what it measures: °C, pH, % RH')),
                        ('uncertainty_typed', models.CharField(blank=True, help_text='As it was typed, with its unit', max_length=40)),
                        ('calibrated_on', models.DateField(blank=True, null=True)),
                        ('calibration_valid_until', models.DateField(blank=True, null=True)),
                        ('retired_at', models.DateTimeField(blank=True, null=True)),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='instruments', to='premises.place')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='instruments', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='AnsweredRequest',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('key', models.CharField(max_length=120)),
                        ('request_sha256', models.CharField(max_length=64)),
                        ('status', models.PositiveSmallIntegerField()),
                        ('body', models.JSONField()),
                        ('answered_at', models.DateTimeField(db_index=True, default=django.utils.timezone.now)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='premises.membership')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('membership', 'key'), name='one_answer_per_idempotency_key')],
                    },
                ),
                migrations.AddConstraint(
                    model_name='place',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='place_names_are_unique', violation_error_message='There is already a place of this name here.'),
                ),
                migrations.AddConstraint(
                    model_name='membership',
                    constraint=models.UniqueConstraint(condition=models.Q(('left_at__isnull', True)), fields=('user', 'premises'), name='one_current_role_per_person', violation_error_message='This person already has a role here; change that one.'),
                ),
                migrations.AddConstraint(
                    model_name='instrument',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='instrument_names_are_unique', violation_error_message='There is already an instrument of this name here.'),
                ),
                migrations.AddConstraint(
                    model_name='instrument',
                    constraint=models.CheckConstraint(condition=models.Q(('expanded_uncertainty__gte', 0)), name='instrument_uncertainty_not_negative'),
                ),
            ]
        )
    ]
