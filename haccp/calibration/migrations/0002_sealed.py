from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("calibration", "0001_initial")]

    operations = [
        RefuseChanges("calibration_calibration"),
        RefuseChanges("calibration_doubt"),
        RefuseChanges("calibration_doubtedreading"),
        RefuseChanges("calibration_laterruling"),
    ]
