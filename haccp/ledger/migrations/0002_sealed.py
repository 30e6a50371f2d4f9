from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("ledger", "0001_initial")]

    operations = [
        RefuseChanges("ledger_log", allow_update_columns=("size", "peaks")),
        RefuseChanges("ledger_entry"),
        RefuseChanges("ledger_signature", allow_update_columns=("printed_name",)),
        RefuseChanges("ledger_signedhead", allow_update_columns=("stamp", "stamped_at")),
        RefuseChangesWhen("ledger_signedhead", "OLD.stamp IS NOT NULL"),
        RefuseChanges("ledger_personaltext", allow_update_columns=("salt", "text", "erased_at", "reason")),
        RefuseChangesWhen("ledger_personaltext", "OLD.erased_at IS NOT NULL"),
    ]
