from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What came into stock and what became of it is never changed; customers' details may be."""

    dependencies = [("stock", "0001_initial")]

    operations = [
        RefuseChanges("stock_dispatch"),
        RefuseChanges("stock_item"),
        RefuseChanges("stock_itemevent"),
        RefuseChanges("stock_countersale"),
    ]
