"""Under which control point a reading is disposed of that no check of the plan asked for."""

from datetime import datetime
from uuid import UUID

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
        # (quantity, subject, place, point), the critical ones first
        self._asked: list[tuple[str, str, UUID | None, ControlPoint]] = [
            (measure.quantity, check.subject, check.place_id, check.control_point)
            for check in sorted(checks, key=lambda one: (not one.control_point.is_critical, one.control_point.code))
            for measure in check.measures.all()
            if measure.quantity
        ]
        self._points = list(ControlPoint.objects.filter(revision=revision).order_by("code"))

    def of(self, one: Resting) -> ControlPoint | None:
        """The one that asks for the same quantity of the same thing; else of anything; else the programme of
        calibration; else the first. None without any plan."""
        same = [asked for asked in self._asked if asked[0] == one.quantity]
        subject = SUBJECT_OF_KIND.get(Lot.Kind(one.lot.kind)) if one.lot is not None else Check.Subject.PLACE
        place = one.place.pk if one.place is not None and one.lot is None else None
        fits = [asked for asked in same if asked[1] == subject and (place is None or asked[2] == place)]
        if fits or same:
            return (fits or same)[0][3]
        programme = [point for point in self._points if point.programme == CALIBRATION]
        return next(iter([*programme, *self._points]), None)
