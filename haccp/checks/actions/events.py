"""Something happened to a lot: it is recorded, and what falls due from it is planned."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks.actions.plan_due import plan_due_for_lot, plan_due_for_use
from haccp.lots import actions as lots
from haccp.lots.kinds import USES, EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def event_record(
    *,
    scope: Scope,
    lot_id: UUID,
    kind: str,
    occurred_at: datetime,
    event_id: UUID,
    place_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> LotEvent:
    """Moves: lock the premises, find the lot here, refuse a future moment, add the event, plan the checks that follow.

    The same event_id sent again gives the event already there. Raises ActionError or Conflict.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    if kind not in EventKind.values:
        raise ActionError("Choose what happened from the list.", field="kind")
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    lot = Lot.objects.for_premises(scope.premises).filter(id=lot_id).select_related("premises", "revision").first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy.", field="lot")
    there = LotEvent.objects.filter(id=event_id).first()
    if there is not None:
        kept = (there.lot_id, there.kind, there.occurred_at, there.place_id, there.note)
        if kept != (lot.id, kind, occurred_at, place_id, note.strip()):
            raise Conflict("This event was already sent with other content; start a new one.")
        return there
    if occurred_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="occurred_at")
    place = _place(scope, place_id)
    event = lots.event_add(
        scope=scope,
        lot=lot,
        kind=kind,
        occurred_at=occurred_at,
        at=now,
        place=place,
        note=note.strip(),
        event_id=event_id,
    )
    plan_due_for_lot(lot=lot, now=now)
    if place is not None and kind in USES:
        plan_due_for_use(premises=lot.premises, place=place, used_at=occurred_at, now=now)
    return event


def _place(scope: Scope, place_id: UUID | None) -> Place | None:
    if place_id is None:
        return None
    place = Place.objects.filter(premises=scope.premises, id=place_id).first()
    if place is None:
        raise ActionError("There is no such place at this dairy; choose one from the list.", field="place")
    return place
