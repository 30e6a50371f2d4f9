from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('premises', '0002_sealed'),
    ]

    operations = [
        migrations.AlterField(
            model_name='place',
            name='kind',
            field=models.CharField(choices=[('milk_store', 'milk store'), ('vat', 'vat'), ('make_room', 'make room'), ('ripening_room', 'ripening room'), ('cold_store', 'cold store'), ('brine_tank', 'brine tank'), ('equipment', 'piece of equipment'), ('other', 'other place')], max_length=16),
        ),
    ]
