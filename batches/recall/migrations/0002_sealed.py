from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """The times of a recall stay as they were."""

    dependencies = [("recall", "0001_initial")]

    operations = [RefuseChanges("recall_recall"), RefuseChanges("recall_recallmark")]
