
import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('lots', '0001_initial'),
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='PartyNumber',
                    fields=[
                        ('premises', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='party_number', serialize=False, to='premises.premises')),
                        ('gln', models.CharField(max_length=13)),
                        ('company_prefix', models.CharField(max_length=12)),
                    ],
                ),
                migrations.CreateModel(
                    name='TradeNumber',
                    fields=[
                        ('product', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='trade_number', serialize=False, to='plan.product')),
                        ('gtin', models.CharField(max_length=14)),
                    ],
                ),
                migrations.CreateModel(
                    name='Customer',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=160)),
                        ('contact', models.CharField(blank=True, max_length=120)),
                        ('phone', models.CharField(blank=True, max_length=40)),
                        ('email', models.EmailField(blank=True, max_length=254)),
                        ('address', models.TextField(blank=True)),
                        ('gln', models.CharField(blank=True, max_length=13)),
                        ('is_ours', models.BooleanField(default=False)),
                        ('retired_at', models.DateTimeField(blank=True, null=True)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='customers', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='Dispatch',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('number', models.PositiveIntegerField()),
                        ('document_type', models.CharField(max_length=40)),
                        ('document_number', models.CharField(max_length=60)),
                        ('dispatched_at', models.DateTimeField()),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField()),
                        ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dispatches', to='stock.customer')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dispatches', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-dispatched_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Item',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('number', models.PositiveIntegerField()),
                        ('kind', models.CharField(choices=[('wheel', 'wheel'), ('cut', 'cut'), ('pack', 'pack')], max_length=8)),
                        ('weight_kg', models.FloatField()),
                        ('typed_weight', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('best_before', models.DateField(blank=True, null=True)),
                        ('entered_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField()),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='items', to='lots.lot')),
                        ('parent', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cuts', to='stock.item')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['lot', 'number'],
                    },
                ),
                migrations.CreateModel(
                    name='ItemEvent',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('weighed', 'weighed again'), ('moved', 'moved to'), ('sample', 'sample taken'), ('loss', 'lost or destroyed'), ('cut_up', 'cut up'), ('to_counter', 'opened at the counter'), ('reworked', 'worked into another batch'), ('dispatched', 'dispatched')], max_length=12)),
                        ('ends', models.BooleanField(default=False)),
                        ('weight_kg', models.FloatField(default=0.0)),
                        ('note', models.TextField(blank=True)),
                        ('occurred_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField()),
                        ('dispatch', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='events', to='stock.dispatch')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='stock.item')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['occurred_at', 'recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='CounterSale',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('day', models.DateField()),
                        ('weight_kg', models.FloatField()),
                        ('typed_weight', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('recorded_at', models.DateTimeField()),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='counter_sales', to='lots.lot')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-day'],
                        'constraints': [models.UniqueConstraint(fields=('lot', 'day'), name='one_counter_total_per_batch_and_day'), models.CheckConstraint(condition=models.Q(('weight_kg__gt', 0)), name='a_counter_total_is_more_than_nothing')],
                    },
                ),
                migrations.AddConstraint(
                    model_name='customer',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='customer_names_are_unique', violation_error_message='There is already a customer of this name.'),
                ),
                migrations.AddConstraint(
                    model_name='customer',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('phone', ''), _negated=True), models.Q(('email', ''), _negated=True), _connector='OR'), name='a_customer_can_be_reached'),
                ),
                migrations.AddIndex(
                    model_name='dispatch',
                    index=models.Index(fields=['premises', '-dispatched_at'], name='stock_dispa_premise_d40848_idx'),
                ),
                migrations.AddConstraint(
                    model_name='dispatch',
                    constraint=models.UniqueConstraint(fields=('premises', 'number'), name='dispatch_numbers_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='item',
                    constraint=models.UniqueConstraint(fields=('lot', 'number'), name='item_numbers_are_unique_in_a_lot'),
                ),
                migrations.AddConstraint(
                    model_name='item',
                    constraint=models.CheckConstraint(condition=models.Q(('weight_kg__gt', 0)), name='an_item_weighs_something'),
                ),
                migrations.AddConstraint(
                    model_name='itemevent',
                    constraint=models.UniqueConstraint(condition=models.Q(('ends', True)), fields=('item',), name='an_item_leaves_once', violation_error_message='Somebody else was first: it is not in stock any more.'),
                ),
                migrations.AddConstraint(
                    model_name='itemevent',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('dispatch__isnull', False), ('kind', 'dispatched')), models.Q(models.Q(('kind', 'dispatched'), _negated=True), ('dispatch__isnull', True)), _connector='OR'), name='what_is_dispatched_names_its_dispatch'),
                ),
                migrations.AddConstraint(
                    model_name='itemevent',
                    constraint=models.CheckConstraint(condition=models.Q(('weight_kg__gte', 0)), name='an_item_event_weighs_no_less_than_nothing'),
                ),
            ]
        )
    ]
