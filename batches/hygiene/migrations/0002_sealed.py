from django.db import migrations

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):
    """What the database itself refuses to change."""

    dependencies = [("hygiene", "0001_initial")]

    operations = [
        RefuseChanges("hygiene_chemical"),
        RefuseChanges("hygiene_chemicallot"),
        RefuseChanges("hygiene_method"),
        RefuseChanges("hygiene_methodstep"),
        RefuseChanges("hygiene_methodchemical"),
        RefuseChanges("hygiene_cleaning"),
        RefuseChanges("hygiene_cleaninglot"),
        RefuseChanges("hygiene_uncleanuse"),
        RefuseChanges("hygiene_swabpoint"),
        RefuseChanges("hygiene_rota"),
        RefuseChanges("hygiene_swab"),
        RefuseChanges("hygiene_swabsent"),
        RefuseChanges("hygiene_swabresult"),
    ]
