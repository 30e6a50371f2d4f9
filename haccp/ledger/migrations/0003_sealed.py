from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen, WithdrawGuards


class Migration(migrations.Migration):
    """Signed heads never change but for their stamp, once; names go once, and nothing else of theirs changes."""

    dependencies = [("ledger", "0002_personal_and_heads")]

    operations = [
        WithdrawGuards("ledger_signature"),
        RefuseChanges("ledger_signature", allow_update_columns=("printed_name",)),
        RefuseChanges("ledger_signedhead", allow_update_columns=("stamp", "stamped_at")),
        RefuseChangesWhen("ledger_signedhead", "OLD.stamp IS NOT NULL"),
        RefuseChanges("ledger_personaltext", allow_update_columns=("salt", "text", "erased_at", "reason")),
        RefuseChangesWhen("ledger_personaltext", "OLD.erased_at IS NOT NULL"),
    ]
