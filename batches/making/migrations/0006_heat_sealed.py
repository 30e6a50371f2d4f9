from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What stands beside a recording of heat is sealed like it."""

    dependencies = [("making", "0005_heat")]

    operations = [
        RefuseChanges("making_heatsheet"),
        RefuseChanges("making_thermometerreading"),
        RefuseChanges("making_flowdiversion"),
        RefuseChanges("making_phosphataseresult"),
    ]
