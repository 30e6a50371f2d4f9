from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """A visitor's link is never turned to another membership or token."""

    dependencies = [("access", "0003_visitors")]

    operations = [RefuseChanges("access_visitorlink", allow_update_columns=("last_opened_at",))]
