from django.db import migrations

from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen

APPROVED = "EXISTS (SELECT 1 FROM plan_planrevision r WHERE r.id = OLD.revision_id AND r.approval_id IS NOT NULL)"
PARTS = (
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
MESSAGE = "An approved revision of the plan is frozen: draft a new revision to change it."


class Migration(migrations.Migration):
    """The parts that came later freeze with their revision as well; what was signed of a plan is never changed."""

    dependencies = [("plan", "0003_twelve_steps")]

    operations = [
        *(
            RefuseChangesWhen(f"plan_{part}", APPROVED, refuse_insert=True, message=MESSAGE)
            for part in PARTS
        ),
        RefuseChanges("plan_flowconfirmation"),
        RefuseChanges("plan_planreview"),
        RefuseChanges("plan_reviewoccasion"),
    ]
