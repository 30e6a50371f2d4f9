from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("ripening", "0001_initial")]

    operations = [
        RefuseChanges("ripening_care"),
        RefuseChanges("ripening_carelot"),
        RefuseChanges("ripening_weighing"),
        RefuseChanges("ripening_roomreading"),
        RefuseChanges("ripening_roomlog"),
    ]
