"""Which control point of the plan a sample speaks of, where nobody says: the one whose failing it would show."""

from collections.abc import Sequence

from haccp.lots.models import Lot
from haccp.lots.subjects import SUBJECT_OF_KIND
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.premises.models import Place


def fitting_point(
    revision: PlanRevision, lot: Lot | None, place: Place | None, parameters: Sequence[str]
) -> ControlPoint | None:
    """A check at that very place counts most (of a brine, at its tank), then a hazard that names what is looked for,
    then a check of that kind of lot; of equals a critical one for what is eaten, and the first by its code. None where
    the plan has no control point."""
    if lot is not None and lot.kind == Lot.Kind.BRINE:
        place = lot.brine.tank
    looked_for = {words[0].lower() for one in parameters if (words := one.split())}

    subject = SUBJECT_OF_KIND.get(Lot.Kind(lot.kind)) if lot is not None else None

    def fit(point: ControlPoint) -> tuple[int, bool]:
        checks = list(point.checks.all())
        names = " ".join(f"{hazard.name} {hazard.agent}".lower() for hazard in point.hazards.all())
        score = 8 * any(place is not None and check.place_id == place.pk for check in checks)
        score += 4 * any(word in names for word in looked_for)
        score += 2 * any(check.subject == subject for check in checks)
        return score, point.is_critical and lot is not None

    points = revision.control_points.prefetch_related("checks", "hazards").order_by("code")
    return max(points, key=fit, default=None)
