from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('lots', '0002_sealed'),
    ]

    operations = [
        migrations.AlterField(
            model_name='lot',
            name='kind',
            field=models.CharField(choices=[('milk', 'milk lot'), ('ingredient', 'ingredient lot'), ('batch', 'batch'), ('by_product', 'by-product'), ('brine', 'brine')], max_length=12),
        ),
    ]
