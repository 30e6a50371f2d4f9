from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("premises", "0001_initial")]

    operations = [
        RefuseChanges("premises_membership", allow_update_columns=("left_at", "ended_by_id")),
        RefuseChangesWhen("premises_membership", "OLD.left_at IS NOT NULL"),
    ]
