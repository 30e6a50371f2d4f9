from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """Rows that people wrote are sealed: the database refuses to change or remove them."""

    dependencies = [("deviations", "0001_initial")]

    operations = [
        RefuseChanges("deviations_deviation"),
        RefuseChanges("deviations_implicatedlot"),
        RefuseChanges("deviations_correctivestep"),
        RefuseChanges("deviations_closure"),
    ]
