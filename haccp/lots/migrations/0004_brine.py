from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('lots', '0003_moves_between_premises'),
    ]

    operations = [
        migrations.AlterField(
            model_name='lot',
            name='kind',
            field=models.CharField(choices=[('milk', 'milk lot'), ('ingredient', 'ingredient lot'), ('batch', 'batch'), ('by_product', 'by-product'), ('brine', 'brine'), ('received', 'cheese from our other premises')], max_length=12),
        ),
    ]
