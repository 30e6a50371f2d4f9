from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("tracing", "0001_initial")]

    operations = [
        RefuseChanges("tracing_byproduct"),
    ]
