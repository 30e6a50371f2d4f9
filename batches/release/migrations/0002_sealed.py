from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("release", "0001_initial")]

    operations = [
        RefuseChanges("release_release"),
    ]
