from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """An invitation's terms are never rewritten. Name and address may be erased on request."""

    dependencies = [("access", "0001_initial")]

    operations = [
        RefuseChanges(
            "access_invitation",
            allow_update_columns=("email", "name", "withdrawn_at", "accepted_at", "membership_id"),
        ),
    ]
