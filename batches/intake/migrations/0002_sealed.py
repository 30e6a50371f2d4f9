from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("intake", "0001_initial")]

    operations = [
        RefuseChanges("intake_milklot"),
        RefuseChanges("intake_milkfinding"),
        RefuseChanges("intake_acceptance"),
        RefuseChanges("intake_milkcount"),
        RefuseChanges("intake_ingredientlot"),
        RefuseChanges("intake_stockchange"),
    ]
