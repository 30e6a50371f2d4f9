from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen

IN_USE = "EXISTS (SELECT 1 FROM making_procedure p WHERE p.id = OLD.procedure_id AND p.in_use_from IS NOT NULL)"
STAGE_IN_USE = (
    "EXISTS (SELECT 1 FROM making_procedurestage s JOIN making_procedure p ON p.id = s.procedure_id "
    "WHERE s.id = OLD.stage_id AND p.in_use_from IS NOT NULL)"
)
MESSAGE = "A procedure in use is frozen: draft a new version instead of changing it."


class Migration(migrations.Migration):
    """What people noted is sealed; a version of a procedure is frozen once it is in use."""

    dependencies = [("making", "0001_initial")]

    operations = [
        RefuseChanges("making_make"),
        RefuseChanges("making_heatsheet"),
        RefuseChanges("making_thermometerreading"),
        RefuseChanges("making_flowdiversion"),
        RefuseChanges("making_phosphataseresult"),
        RefuseChanges("making_stagemark"),
        RefuseChanges("making_stagereading"),
        RefuseChanges("making_ingredientuse"),
        RefuseChanges("making_makeyield"),
        RefuseChangesWhen("making_procedure", "OLD.in_use_from IS NOT NULL", message=MESSAGE),
        RefuseChangesWhen("making_procedurestage", IN_USE, refuse_insert=True, message=MESSAGE),
        RefuseChangesWhen("making_proceduremilk", IN_USE, refuse_insert=True, message=MESSAGE),
        RefuseChangesWhen("making_dose", STAGE_IN_USE, refuse_insert=True, message=MESSAGE),
    ]
