"""A lot that may not be used is used all the same: that is a deviation, with its reason, before anything else."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from haccp.deviations.actions import deviation_report
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.plan.models import Check, ControlPoint, PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope


def exception_open(
    *, scope: Scope, deviation_id: UUID, used: Mapping[Lot, str], reason: str, occurred_at: datetime, now: datetime
) -> Deviation:
    """Opens the deviation of lots used against what is recorded of them, in the transaction of the caller, once what
    was made of them is linked. used: lot -> what stood against it."""
    revision = revision_in_force(scope.premises, now)
    point = revision and control_point_for(revision)
    if point is None:
        raise ActionError("The plan has no control point for what comes in; have one added before making exceptions.")
    against = "; ".join(f"{lot.code}: {why}" for lot, why in used.items())
    return deviation_report(
        scope=scope,
        deviation_id=deviation_id,
        control_point_id=point.pk,
        summary=f"Used although it may not be ({against}). Reason given: {reason}",
        occurred_at=occurred_at,
        lot_ids=[lot.pk for lot in used],
        now=now,
    )


def control_point_for(revision: PlanRevision) -> ControlPoint | None:
    """The control point of what comes in: of the milk's checks, else of the suppliers' programme, else the first."""
    points = revision.control_points.order_by("code")
    by_checks = points.filter(checks__subject=Check.Subject.MILK)
    return by_checks.first() or points.filter(programme="suppliers").first() or points.first()
