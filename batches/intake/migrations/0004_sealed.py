from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """Rows that people wrote are sealed: the database refuses to change or remove them. Suppliers change."""

    dependencies = [("intake", "0003_suppliers_findings_ingredients")]

    operations = [
        RefuseChanges("intake_milkfinding"),
        RefuseChanges("intake_acceptance"),
        RefuseChanges("intake_milkcount"),
        RefuseChanges("intake_ingredientlot"),
        RefuseChanges("intake_stockchange"),
    ]
