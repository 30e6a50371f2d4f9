from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """Rows that people wrote are sealed: the database refuses to change or remove them."""

    dependencies = [("checks", "0006_people_and_absences")]

    operations = [
        RefuseChanges("checks_keeper"),
        RefuseChanges("checks_absence"),
        RefuseChanges("checks_backagain"),
    ]
