from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """A release is signed once and never changed."""

    dependencies = [("release", "0001_initial")]

    operations = [RefuseChanges("release_release")]
