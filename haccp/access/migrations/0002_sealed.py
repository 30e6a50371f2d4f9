from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("access", "0001_initial")]

    operations = [
        RefuseChanges("access_invitation", allow_update_columns=("email", "name", "withdrawn_at", "accepted_at", "membership_id")),
        RefuseChanges("access_visitorlink", allow_update_columns=("last_opened_at",)),
    ]
