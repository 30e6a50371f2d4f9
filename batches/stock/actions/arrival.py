"""Pieces that another premises of the producer sent arrive here as stock."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.stock import sealing
from batches.stock.actions.entering import find_place, items_write, lock, refuse_future
from batches.stock.models import Arrival, ArrivedLot, Dispatch, Item, ItemEvent
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot
from haccp.plan.models import PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def arrival_accept(
    *,
    scope: Scope,
    arrival_id: UUID,
    dispatch_id: UUID,
    item_ids: Sequence[UUID],
    arrived_at: datetime,
    place_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> Arrival:
    """Records which of the pieces sent arrived; those are in stock here from then on, and what is missing is told as
    unexplained. The same arrival_id sent again gives the arrival already there.

    Moves: lock the premises, find what was sent, open a lot here for each lot there, tie the two, take the pieces in.
    Raises ActionError for what was not sent here or a time that cannot be, Conflict when somebody else was first.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    came = set(item_ids)
    there = Arrival.objects.filter(pk=arrival_id).first()
    if there is not None:
        kept = set(Item.objects.filter(lot__arrived__arrival=there, parent__isnull=True).values_list("pk", flat=True))
        sent_again = {_item_id(arrival_id, one) for one in came}
        if (there.premises_id, there.dispatch_id, kept) != (scope.premises.pk, dispatch_id, sent_again):
            raise Conflict("This arrival was already sent with other content; open it again.")
        return there
    dispatch = (
        Dispatch.objects.filter(pk=dispatch_id, transfer__receiver=scope.premises).select_related("premises").first()
    )
    if dispatch is None:
        raise ActionError("Nothing of that kind was sent here; choose it from what is arriving.", field="dispatch")
    if Arrival.objects.filter(dispatch=dispatch).exists():
        raise Conflict("Somebody else was first: its arrival is already recorded.")
    refuse_future(arrived_at, now, field="arrived_at")
    if arrived_at < dispatch.dispatched_at:
        raise ActionError("That is before it was sent; correct the time.", field="arrived_at")
    sent = list(dispatch.events.select_related("item__lot__product", "item__lot__arrived").order_by("item__number"))
    if came - {event.item_id for event in sent}:
        raise ActionError("One of these pieces was not sent with this dispatch.", field="items")
    revision = revision_in_force(scope.premises, arrived_at)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before taking cheese in.")
    place = find_place(scope, place_id)
    arrival = Arrival.objects.create(
        id=arrival_id,
        premises=scope.premises,
        dispatch=dispatch,
        note=note.strip(),
        arrived_at=arrived_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    by_lot: dict[Lot, list[ItemEvent]] = defaultdict(list)
    for event in sent:
        by_lot[event.item.lot].append(event)
    for origin, events in by_lot.items():
        _take_in(scope, arrival, origin, events, came, revision, place, now)
    ledger.seal(
        log_id=scope.log_id,
        kind="stock.arrived",
        subject=f"arrival:{arrival.pk}",
        body=sealing.arrival_body(arrival),
        actor=scope.actor,
        at=now,
    )
    return arrival


def _take_in(
    scope: Scope,
    arrival: Arrival,
    origin: Lot,
    sent: Sequence[ItemEvent],
    came: set[UUID],
    revision: PlanRevision,
    place: Place | None,
    now: datetime,
) -> None:
    lot = lots.lot_open(
        scope=scope,
        lot_id=uuid5(arrival.pk, str(origin.pk)),
        kind=Lot.Kind.RECEIVED,
        code=_free_code(scope.premises, origin.code),
        revision=revision,
        begun_at=arrival.arrived_at,
        at=now,
    )
    lots.origin_add(scope=scope, lot=lot, origin=origin, at=now)
    if place is not None:
        # So that a deviation of the room finds what lay in it.
        lots.event_add(
            scope=scope, lot=lot, kind=EventKind.PLACED_IN_ROOM, occurred_at=arrival.arrived_at, at=now, place=place
        )
    items = [
        Item(
            id=_item_id(arrival.pk, event.item_id),
            lot=lot,
            number=event.item.number,
            kind=event.item.kind,
            weight_kg=event.weight_kg,
            typed_weight=f"{event.weight_kg:.3f}",
            typed_unit="kg",
            place=place,
            best_before=event.item.best_before,
            entered_at=arrival.arrived_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for event in sent
        if event.item_id in came
    ]
    ArrivedLot.objects.create(
        lot=lot,
        arrival=arrival,
        cheese=origin.product.name if origin.product else origin.arrived.cheese,
        origin_code=origin.code,
        sent_pieces=len(sent),
        sent_kg=sum(event.weight_kg for event in sent),
        pieces=len(items),
        weight_kg=sum(item.weight_kg for item in items),
    )
    items_write(scope, items, now)


def _item_id(arrival_id: UUID, item_id: UUID) -> UUID:
    return uuid5(arrival_id, str(item_id))


def _free_code(premises: Premises, code: str) -> str:
    """The code it had, so that both premises speak of it alike; -2, -3 ... where that is taken here."""
    count = 1
    free = code
    while Lot.objects.for_premises(premises).filter(code=free).exists():
        count += 1
        free = f"{code[:34]}-{count}"
    return free
