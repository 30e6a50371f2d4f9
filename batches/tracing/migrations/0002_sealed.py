from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What came off a batch is written down once."""

    dependencies = [("tracing", "0001_initial")]

    operations = [RefuseChanges("tracing_byproduct")]
