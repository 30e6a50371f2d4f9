"""More product than was found may be touched: a person widens, freely; narrowing is a disposition with its reason."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.deviations.actions.implicate import widen_to
from haccp.deviations.actions.steps import deviation_for_update
from haccp.deviations.implication import implicated_by_name
from haccp.deviations.models import Widening
from haccp.deviations.reach import reach
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def deviation_widen(
    *,
    scope: Scope,
    widening_id: UUID,
    deviation_id: UUID,
    lot_ids: Sequence[UUID],
    reason: str,
    now: datetime | None = None,
) -> Widening:
    """Adds lots and all that they reach from there; they are held where the others are, or where the point is critical.

    The same widening_id sent again gives what is already there. Raises ActionError without a lot or a reason,
    Conflict when the deviation is closed.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    deviation = deviation_for_update(scope, deviation_id)
    there = Widening.objects.filter(pk=widening_id).first()
    if there is not None:
        if (there.deviation_id, there.reason) != (deviation.pk, reason.strip()):
            raise Conflict("This was already sent with other content; start anew.")
        return there
    if hasattr(deviation, "closure"):
        raise Conflict(f"{deviation.reference} is closed; open a new deviation if there is more.")
    if not reason.strip():
        raise ActionError("Say why these may be touched as well.", field="reason")
    named = list(Lot.objects.for_premises(scope.premises).filter(pk__in=lot_ids))
    if not named or len(named) != len(set(lot_ids)):
        raise ActionError("Choose at least one lot of this dairy.", field="lots")
    known = set(deviation.implicated.values_list("lot_id", flat=True))
    found = reach(scope.premises, implicated_by_name(named, scope.user.name), now)
    fresh = [(one, way) for one, way in found if one.lot.pk not in known]
    if not fresh:
        raise ActionError("All of these are implicated already.", field="lots")
    widening = Widening(
        id=widening_id, deviation=deviation, reason=reason.strip(), recorded_at=now, recorded_by=scope.user
    )
    widen_to(scope, widening, fresh, now, reason=reason.strip())
    return widening
