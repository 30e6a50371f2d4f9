"""More product than was found may be touched: a person widens, freely; narrowing is a disposition with its reason."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.deviations import sealing
from haccp.deviations.actions.steps import deviation_for_update
from haccp.deviations.implication import implicated_by_name
from haccp.deviations.models import ImplicatedLot, Widening
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Hold, Lot
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
    """Adds lots and all that was made from them; they are held where the others are, or where the point is critical.

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
    found = implicated_by_name(scope.premises, named, scope.user.name)
    fresh = [(lot, why) for lot, why in found.lots if lot.pk not in known]
    if not fresh:
        raise ActionError("All of these are implicated already.", field="lots")
    widening = Widening.objects.create(
        id=widening_id, deviation=deviation, reason=reason.strip(), recorded_at=now, recorded_by=scope.user
    )
    ImplicatedLot.objects.bulk_create(
        ImplicatedLot(deviation=deviation, lot=lot, why=f"{why}: {reason.strip()}", widening=widening)
        for lot, why in fresh
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="deviation.widened",
        subject=f"widening:{widening.pk}",
        body=sealing.widening_body(widening),
        actor=scope.actor,
        at=now,
    )
    if deviation.control_point.is_critical or Hold.objects.filter(cause=deviation.hold_cause).exists():
        lots.hold_place(
            log_id=scope.log_id,
            lots=[lot for lot, _ in fresh],
            cause=deviation.hold_cause,
            reason=f"{deviation.reference}: {deviation.summary}",
            actor=scope.actor,
            at=now,
        )
    return widening
