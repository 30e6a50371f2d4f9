from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("stock", "0001_initial")]

    operations = [
        RefuseChanges("stock_dispatch"),
        RefuseChanges("stock_item"),
        RefuseChanges("stock_itemevent"),
        RefuseChanges("stock_countersale"),
    ]
