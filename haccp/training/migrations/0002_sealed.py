from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("training", "0001_initial")]

    operations = [RefuseChanges("training_training")]
