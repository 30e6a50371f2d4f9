from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("stock", "0002_sealed")]

    operations = [
        migrations.AlterField(
            model_name="itemevent",
            name="kind",
            field=models.CharField(
                choices=[
                    ("weighed", "weighed again"),
                    ("moved", "moved to"),
                    ("sample", "sample taken"),
                    ("loss", "lost or destroyed"),
                    ("cut_up", "cut up"),
                    ("to_counter", "opened at the counter"),
                    ("reworked", "worked into another batch"),
                    ("dispatched", "dispatched"),
                    ("returned", "came back"),
                ],
                max_length=12,
            ),
        ),
    ]
