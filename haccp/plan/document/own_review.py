"""The plan's own review as a check of the plan: what every new draft begins with."""

from collections.abc import Iterator

from haccp.plan.document.document import PlanDocument
from haccp.plan.document.parts import Check, ControlPoint, Measure, Part

CADENCE = {"kind": "plan_review"}
DAY_S = 86_400
# How long before and after its day a review may be done, and how soon after what called for it (see
# haccp.plan.reviewing): common practice, no source.
BEFORE_S = 14 * DAY_S
GRACE_S = 14 * DAY_S
CODE = "REVIEW"
CHANGE_NEEDED, NO_CHANGE = "yes", "no"


def is_review(check: Check) -> bool:
    return check.cadence.get("kind") == CADENCE["kind"]


def review_parts(document: PlanDocument) -> Iterator[Part]:
    """The programme, its check and what is entered at it; nothing where the plan has such a check already."""
    if any(is_review(check) for check in document.checks):
        return
    taken = {point.code for point in document.control_points}
    point = ControlPoint(
        kind="prerequisite",
        code=next(code for code in (CODE, f"{CODE} 2", f"{CODE} 3") if code not in taken),
        name="Review of the plan",
        corrective_action="Review the plan at once, and draft a new revision of what no longer holds.",
        verification="Each review is signed and kept with the revision that it looked at.",
    )
    check = Check(
        control_point=point.key,
        name="Review of the plan",
        how=(
            "Walk the flow diagram; look at the findings, the deviations and complaints since the last review, what "
            "changed in milk, equipment, recipe and law; sign the review on its page."
        ),
        who="Whoever approves the plan",
        subject="premises",
        cadence=CADENCE,
        window_before_s=BEFORE_S,
        grace_s=GRACE_S,
    )
    yield point
    yield check
    yield Measure(check=check.key, position=0, label="What the review found", kind="text")
    yield Measure(
        check=check.key,
        position=1,
        label="Must the plan be changed?",
        kind="answer",
        choices=(NO_CHANGE, CHANGE_NEEDED),
    )
