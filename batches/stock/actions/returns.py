"""Cheese that a customer sends back: it is in stock again, as a piece of its own that names the one that left."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from batches.stock.actions.entering import events_write, find_place, items_write, lock, refuse_future
from batches.stock.models import Dispatch, Item, ItemEvent, Transfer
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Kind = ItemEvent.Kind


@transaction.atomic
def items_return(
    *,
    scope: Scope,
    request_id: UUID,
    dispatch_id: UUID,
    item_ids: Sequence[UUID],
    returned_at: datetime,
    note: str,
    place_id: UUID | None = None,
    now: datetime | None = None,
) -> list[Item]:
    """Takes pieces of a dispatch back into stock, each at the weight at which it left; weigh it again if that changed.

    The same request_id sent again gives the pieces already there. Raises ActionError for a piece that did not leave
    with this dispatch, for a moment before it left, and without a word of why; Conflict for one that is back already.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    ids = {item_id: uuid5(request_id, str(item_id)) for item_id in item_ids}
    there = list(Item.objects.filter(pk__in=ids.values(), lot__premises=scope.premises).order_by("number"))
    if there:
        return there
    if not ids:
        raise ActionError("Choose at least one piece.", field="items")
    dispatch = Dispatch.objects.filter(premises=scope.premises, pk=dispatch_id).select_related("customer").first()
    if dispatch is None:
        raise ActionError("There is no such dispatch at this dairy.")
    if Transfer.objects.filter(dispatch=dispatch).exists():
        raise ActionError(f"{dispatch} went to another premises of yours: they accept it, and send it back to you.")
    if not note.strip():
        raise ActionError("Say why it came back.", field="note")
    refuse_future(returned_at, now, field="returned_at")
    if returned_at < dispatch.dispatched_at:
        raise ActionError(f"That is before {dispatch} left; correct the time.", field="returned_at")
    left = list(dispatch.events.filter(item__in=ids).select_related("item__lot").order_by("item__lot", "item__number"))
    if len(left) != len(ids):
        raise ActionError(f"One of these pieces did not leave with {dispatch}.", field="items")
    back = Item.objects.filter(parent__in=ids, events__kind=Kind.RETURNED).select_related("parent__lot")
    if back:
        raise Conflict(f"{', '.join(str(one.parent) for one in back)}: back already.", field="items")
    find_place(scope, place_id)
    made = _made(scope, ids, left, returned_at, place_id, now)
    items_write(scope, made, now)
    came = f"from {dispatch.customer.name} ({dispatch}): {note.strip()}"
    events = [
        ItemEvent(
            id=uuid5(item.pk, Kind.RETURNED),
            item=item,
            kind=Kind.RETURNED,
            weight_kg=item.weight_kg,
            note=came,
            occurred_at=returned_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for item in made
    ]
    events_write(scope, events, now)
    return made


def _made(
    scope: Scope,
    ids: dict[UUID, UUID],
    left: Sequence[ItemEvent],
    returned_at: datetime,
    place_id: UUID | None,
    now: datetime,
) -> list[Item]:
    last = _last_numbers(scope.premises, {event.item.lot_id for event in left})
    made = []
    for event in left:
        was = event.item
        last[was.lot_id] += 1
        made.append(
            Item(
                id=ids[was.pk],
                lot=was.lot,
                number=last[was.lot_id],
                kind=was.kind,
                parent=was,
                weight_kg=event.weight_kg,
                typed_weight=f"{event.weight_kg:g}",
                typed_unit="kg",
                place_id=place_id,
                best_before=was.best_before,
                entered_at=returned_at,
                recorded_at=now,
                recorded_by=scope.user,
            )
        )
    return made


def _last_numbers(premises: Premises, lot_ids: set[UUID]) -> dict[UUID, int]:
    found = Item.objects.for_premises(premises).filter(lot__in=lot_ids).order_by().values("lot")
    return dict(found.annotate(last=Max("number")).values_list("lot", "last"))
