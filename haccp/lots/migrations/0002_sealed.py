from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("lots", "0001_initial")]

    operations = [
        RefuseChanges("lots_lot"),
        RefuseChanges("lots_lotevent"),
        RefuseChanges("lots_lotlink"),
        RefuseChanges("lots_hold"),
        RefuseChanges("lots_holdlift"),
        RefuseChanges("lots_revisionmove"),
    ]
