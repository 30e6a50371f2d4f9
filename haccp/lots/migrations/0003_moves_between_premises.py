import uuid

import django.db.models.deletion
from django.db import migrations, models

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):

    dependencies = [
        ('lots', '0002_sealed'),
    ]

    operations = [
        migrations.AlterField(
            model_name='lot',
            name='kind',
            field=models.CharField(choices=[('milk', 'milk lot'), ('ingredient', 'ingredient lot'), ('batch', 'batch'), ('by_product', 'by-product'), ('received', 'cheese from our other premises')], max_length=12),
        ),
        migrations.CreateModel(
            name='LotOrigin',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('steps', models.PositiveSmallIntegerField()),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='origins', to='lots.lot')),
                ('origin', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sent_on', to='lots.lot')),
            ],
            options={
                'ordering': ['steps'],
                'constraints': [models.UniqueConstraint(fields=('lot', 'steps'), name='a_lot_came_from_one_other'), models.CheckConstraint(condition=models.Q(('lot', models.F('origin')), _negated=True), name='no_lot_came_from_itself')],
            },
        ),
        RefuseChanges("lots_lotorigin"),
    ]
