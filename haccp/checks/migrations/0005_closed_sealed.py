from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    dependencies = [("checks", "0004_closed_periods")]

    operations = [
        RefuseChanges("checks_closedperiod"),
        RefuseChanges("checks_reopening"),
    ]
