from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen

APPROVED = "EXISTS (SELECT 1 FROM plan_planrevision r WHERE r.id = OLD.revision_id AND r.approval_id IS NOT NULL)"
PARTS = (
    "processstep",
    "hazard",
    "controlpoint",
    "criticallimit",
    "check",
    "measure",
    "teammember",
    "productdescription",
    "stepmaterial",
    "flowlink",
    "risklevel",
    "controlmeasure",
    "decisionanswers",
    "validation",
    "verification",
    "keptdocument",
    "reviewtrigger",
    "borrowed",
    "openjudgement",
)
LINKS = (
    ("processstep_products", "processstep"),
    ("controlpoint_hazards", "controlpoint"),
    ("criticallimit_products", "criticallimit"),
    ("check_products", "check"),
    ("measure_limits", "measure"),
)
MESSAGE = "An approved revision of the plan is frozen: draft a new revision to change it."


def approved_parent(part):
    return (
        f'EXISTS (SELECT 1 FROM "plan_{part}" p JOIN plan_planrevision r ON r.id = p.revision_id '  # noqa: S608  (names of our own tables)
        f"WHERE p.id = OLD.{part}_id AND r.approval_id IS NOT NULL)"
    )


class Migration(migrations.Migration):
    """All parts freeze with their revision; what was signed of a plan never changes."""

    dependencies = [("plan", "0001_initial")]

    operations = [
        RefuseChangesWhen("plan_planrevision", "OLD.approval_id IS NOT NULL", message=MESSAGE),
        *(
            RefuseChangesWhen(f"plan_{part}", APPROVED, refuse_insert=True, message=MESSAGE)
            for part in PARTS
        ),
        *(
            RefuseChangesWhen(f"plan_{table}", approved_parent(part), refuse_insert=True, message=MESSAGE)
            for table, part in LINKS
        ),
        RefuseChanges("plan_flowconfirmation"),
        RefuseChanges("plan_planreview"),
        RefuseChanges("plan_reviewoccasion"),
    ]
