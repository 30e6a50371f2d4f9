from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    dependencies = [("checks", "0008_photos")]

    operations = [
        RefuseChanges("checks_photofile"),
    ]
