"""Under which control point a reading is disposed of that no check of the plan asked for."""

from datetime import datetime

from haccp.calibration.resting import Resting
from haccp.lots.models import Lot
from haccp.lots.subjects import SUBJECT_OF_KIND
from haccp.plan.models import Check, ControlPoint, PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Premises

CALIBRATION = "calibration"


class FittingPoints:
    """Of the plan in force at a moment; of the last plan where none is. In three queries, however many are asked."""

    def __init__(self, premises: Premises, at: datetime) -> None:
        revision = revision_in_force(premises, at)
        if revision is None:
            approved = PlanRevision.objects.for_premises(premises).filter(approval__isnull=False)
            revision = approved.order_by("-effective_from").first()
        checks = Check.objects.filter(revision=revision).select_related("control_point").prefetch_related("measures")
        in_order = sorted(checks, key=lambda one: (not one.control_point.is_critical, one.control_point.code))
        self._asked = [
            (measure.quantity, check) for check in in_order for measure in check.measures.all() if measure.quantity
        ]
        self._points = list(ControlPoint.objects.filter(revision=revision).order_by("code"))

    def of(self, one: Resting) -> ControlPoint | None:
        """The one that it stands beside. Else the one that asks for the same, the critical ones first: the same
        quantity of the same thing, from the same event or at the same place. Else one that asks for that quantity of
        anything, unless the reading says from which events it counts: then no check asked for it, and it falls to the
        programme of calibration. Else the first. None without any plan."""
        beside = [point for point in self._points if point.code == one.beside]
        same = [check for quantity, check in self._asked if quantity == one.quantity]
        fits = [check for check in same if _asks_for(check, one)]
        programme = [point for point in self._points if point.programme == CALIBRATION]
        anything = [check.control_point for check in same]
        otherwise = [*anything, *programme] if one.since is None else [*programme, *anything]
        return next(iter([*beside, *(check.control_point for check in fits), *otherwise, *self._points]), None)


def _asks_for(check: Check, one: Resting) -> bool:
    if one.lot is None:
        return check.subject == Check.Subject.PLACE and one.place is not None and check.place_id == one.place.pk
    if check.subject != SUBJECT_OF_KIND.get(Lot.Kind(one.lot.kind)):
        return False
    return one.since is None or check.cadence.get("event") in one.since
