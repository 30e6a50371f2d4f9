
import django.db.models.deletion
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('lots', '0001_initial'),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='ByProduct',
                    fields=[
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='by_product', serialize=False, to='lots.lot')),
                        ('kind', models.CharField(choices=[('whey', 'whey'), ('cream', 'whey cream'), ('trim', 'trim'), ('curd', 'curd')], max_length=8)),
                        ('amount', models.FloatField()),
                        ('unit', models.CharField(max_length=4)),
                        ('typed_amount', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='a_by_product_is_more_than_nothing')],
                    },
                ),
            ]
        )
    ]
