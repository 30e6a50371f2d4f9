from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """Rows that people wrote are sealed: the database refuses to change or remove them."""

    dependencies = [("checks", "0001_initial")]

    operations = [
        RefuseChanges("checks_record"),
        RefuseChanges("checks_reading"),
        RefuseChanges("checks_rulingrow"),
        RefuseChanges("checks_tracefile"),
        RefuseChanges("checks_missedcheck"),
        RefuseChanges("checks_missedreason"),
        RefuseChanges("checks_daysignature"),
    ]
