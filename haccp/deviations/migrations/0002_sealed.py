from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("deviations", "0001_initial")]

    operations = [
        RefuseChanges("deviations_deviation"),
        RefuseChanges("deviations_implicatedlot"),
        RefuseChanges("deviations_correctivestep"),
        RefuseChanges("deviations_closure"),
        RefuseChanges("deviations_widening"),
        RefuseChanges("deviations_task"),
        RefuseChanges("deviations_taskdone"),
        RefuseChanges("deviations_evidence"),
        RefuseChanges("deviations_lotend"),
        RefuseChanges("deviations_missedagain"),
    ]
