from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("checks", "0001_initial")]

    operations = [
        RefuseChanges("checks_record"),
        RefuseChanges("checks_reading"),
        RefuseChanges("checks_rulingrow"),
        RefuseChanges("checks_tracefile"),
        RefuseChanges("checks_missedcheck"),
        RefuseChanges("checks_missedreason"),
        RefuseChanges("checks_daysignature"),
        RefuseChanges("checks_closedperiod"),
        RefuseChanges("checks_reopening"),
        RefuseChanges("checks_freeday"),
        RefuseChanges("checks_keeper"),
        RefuseChanges("checks_absence"),
        RefuseChanges("checks_backagain"),
        RefuseChanges("checks_photofile"),
    ]
