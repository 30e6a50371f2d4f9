from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("laboratory", "0001_initial")]

    operations = [
        RefuseChanges("laboratory_sample"),
        RefuseChanges("laboratory_sampletest"),
        RefuseChanges("laboratory_testresult"),
    ]
