from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """Rows that people wrote are sealed: the database refuses to change or remove them."""

    dependencies = [("laboratory", "0001_initial")]

    operations = [
        RefuseChanges("laboratory_sample"),
        RefuseChanges("laboratory_sampletest"),
        RefuseChanges("laboratory_testresult"),
    ]
