from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen


class Migration(migrations.Migration):
    """A role that was given is never rewritten; it ends once."""

    dependencies = [("premises", "0005_roles_given")]

    operations = [
        RefuseChanges("premises_membership", allow_update_columns=("left_at", "ended_by_id")),
        RefuseChangesWhen("premises_membership", "OLD.left_at IS NOT NULL"),
    ]
