import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):

    dependencies = [
        ('lots', '0003_moves_between_premises'),
        ('premises', '0002_sealed'),
        ('stock', '0003_came_back'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Arrival',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('note', models.TextField(blank=True)),
                ('arrived_at', models.DateTimeField()),
                ('recorded_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['-arrived_at'],
            },
        ),
        migrations.CreateModel(
            name='ArrivedLot',
            fields=[
                ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='arrived', serialize=False, to='lots.lot')),
                ('cheese', models.CharField(max_length=120)),
                ('origin_code', models.CharField(max_length=40)),
                ('sent_pieces', models.PositiveIntegerField()),
                ('sent_kg', models.FloatField()),
                ('pieces', models.PositiveIntegerField()),
                ('weight_kg', models.FloatField()),
            ],
            options={
                'ordering': ['origin_code'],
            },
        ),
        migrations.CreateModel(
            name='Transfer',
            fields=[
                ('dispatch', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='transfer', serialize=False, to='stock.dispatch')),
            ],
        ),
        migrations.AddField(
            model_name='customer',
            name='own_premises',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises'),
        ),
        migrations.AddConstraint(
            model_name='customer',
            constraint=models.UniqueConstraint(fields=('premises', 'own_premises'), name='own_premises_is_one_customer'),
        ),
        migrations.AddField(
            model_name='arrival',
            name='dispatch',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='arrival', to='stock.dispatch'),
        ),
        migrations.AddField(
            model_name='arrival',
            name='premises',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='arrivals', to='premises.premises'),
        ),
        migrations.AddField(
            model_name='arrival',
            name='recorded_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='arrivedlot',
            name='arrival',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='stock.arrival'),
        ),
        migrations.AddField(
            model_name='transfer',
            name='receiver',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='transfers_in', to='premises.premises'),
        ),
        migrations.AddConstraint(
            model_name='arrivedlot',
            constraint=models.CheckConstraint(condition=models.Q(('pieces__lte', models.F('sent_pieces'))), name='no_more_arrives_than_left'),
        ),
        RefuseChanges("stock_transfer"),
        RefuseChanges("stock_arrival"),
        RefuseChanges("stock_arrivedlot"),
    ]
