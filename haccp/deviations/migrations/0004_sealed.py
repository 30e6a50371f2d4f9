from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What is added to a deviation is sealed like the rest of it."""

    dependencies = [("deviations", "0003_completed")]

    operations = [
        RefuseChanges("deviations_widening"),
        RefuseChanges("deviations_task"),
        RefuseChanges("deviations_taskdone"),
        RefuseChanges("deviations_evidence"),
        RefuseChanges("deviations_lotend"),
    ]
