"""Wheels, cuts and packs: into stock, cut up, weighed, moved, sampled, lost."""

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from batches.stock.actions.entering import (
    events_write,
    find_batch,
    find_items,
    find_place,
    items_write,
    lock,
    refuse_future,
)
from batches.stock.models import Item, ItemEvent
from batches.stock.weights import ROUNDING_KG, Weight, read_weight, read_weights
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.units import show

Kind = ItemEvent.Kind
# What a person may record of one piece by itself; the others follow from a cut, a dispatch or the counter.
BY_HAND = (Kind.WEIGHED, Kind.SAMPLE, Kind.LOSS)


@transaction.atomic
def items_add(
    *,
    scope: Scope,
    request_id: UUID,
    lot_id: UUID,
    kind: str,
    weights: str,
    unit: str,
    entered_at: datetime,
    place_id: UUID | None = None,
    best_before: date | None = None,
    now: datetime | None = None,
) -> list[Item]:
    """Takes pieces of a batch into stock, numbered on from the last. The same request_id gives those already there.

    weights: one to a line, or "12 × 3.2". Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    lot = find_batch(scope, lot_id)
    read = read_weights(weights, unit)
    there = list(Item.objects.filter(pk__in=[uuid5(request_id, str(n)) for n in range(len(read))]).order_by("number"))
    if there:
        kept = [(one.lot_id, one.kind, one.typed_weight) for one in there]
        if kept != [(lot.pk, kind, weight.text) for weight in read]:
            raise Conflict("These were already sent with other content; start a new entry.")
        return there
    _refuse(lot, kind, entered_at, best_before, now)
    place = find_place(scope, place_id)
    made = _items(scope, request_id, lot, kind, read, place.pk if place else None, best_before, entered_at, now, None)
    items_write(scope, made, now)
    return made


@transaction.atomic
def item_cut(
    *,
    scope: Scope,
    request_id: UUID,
    item_id: UUID,
    kind: str,
    weights: str,
    unit: str,
    cut_at: datetime,
    best_before: date | None = None,
    now: datetime | None = None,
) -> list[Item]:
    """Cuts a piece up into cuts or packs of the same batch; what they weigh less than it is trim.

    Raises ActionError when they weigh more than the piece does, Conflict when it is not in stock any more.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    if ItemEvent.objects.filter(pk=request_id).exists():
        return list(Item.objects.filter(parent=item_id, lot__premises=scope.premises).order_by("number"))
    (whole,) = find_items(scope, [item_id])
    read = read_weights(weights, unit)
    _refuse(whole.lot, kind, cut_at, best_before, now)
    there = whole.now_kg
    cut_kg = sum(weight.kg for weight in read)
    if cut_kg > there + ROUNDING_KG:
        raise ActionError(
            f"The parts weigh {show('mass', cut_kg)} together, but {whole} weighs {show('mass', there)}. "
            "Correct the weights, or weigh it again first.",
            field="weights",
        )
    until, place_id = best_before or whole.best_before, whole.place_now_id
    parts = _items(scope, request_id, whole.lot, kind, read, place_id, until, cut_at, now, whole)
    events_write(scope, [_event(scope, request_id, whole, Kind.CUT_UP, cut_at, now, weight_kg=there, ends=True)], now)
    items_write(scope, parts, now)
    return parts


@transaction.atomic
def item_event(
    *,
    scope: Scope,
    event_id: UUID,
    item_id: UUID,
    kind: str,
    occurred_at: datetime,
    weight: str = "",
    unit: str = "kg",
    whole: bool = False,
    note: str = "",
    now: datetime | None = None,
) -> ItemEvent:
    """A piece weighed again, a sample or a loss of it; whole: all of it is gone. Allowed for what is on hold.

    Raises ActionError for a sample or loss of more than there is, and for a loss without a word of why.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    sent = ItemEvent.objects.filter(pk=event_id).first()
    if sent is not None:
        if (sent.item_id, sent.kind, sent.occurred_at, sent.note) != (item_id, kind, occurred_at, note.strip()):
            raise Conflict("This was already sent with other content; start a new entry.")
        return sent
    if kind not in BY_HAND:
        raise ActionError("Choose what happened from the list.", field="kind")
    refuse_future(occurred_at, now, field="occurred_at")
    (item,) = find_items(scope, [item_id])
    if kind == Kind.LOSS and not note.strip():
        raise ActionError("Say why it was lost or destroyed, and how.", field="note")
    there = item.now_kg
    ends = whole and kind != Kind.WEIGHED
    kg = there if ends else read_weight(weight, unit).kg
    if kind != Kind.WEIGHED and kg > there + ROUNDING_KG:
        raise ActionError(f"{item} weighs only {show('mass', there)}.", field="weight")
    event = _event(scope, event_id, item, kind, occurred_at, now, weight_kg=kg, ends=ends, note=note.strip())
    events_write(scope, [event], now)
    return event


@transaction.atomic
def items_move(
    *,
    scope: Scope,
    request_id: UUID,
    item_ids: Sequence[UUID],
    place_id: UUID,
    moved_at: datetime,
    now: datetime | None = None,
) -> list[ItemEvent]:
    """Moves pieces to another room of these premises; what is on hold may be moved apart."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    refuse_future(moved_at, now, field="moved_at")
    events_there = list(ItemEvent.objects.filter(pk__in=[uuid5(request_id, str(one)) for one in item_ids]))
    if events_there:
        return events_there
    find_place(scope, place_id)
    moved = [
        _event(scope, uuid5(request_id, str(item.pk)), item, Kind.MOVED, moved_at, now, place_id=place_id)
        for item in find_items(scope, item_ids)
    ]
    events_write(scope, moved, now)
    return moved


def _refuse(lot: Lot, kind: str, entered_at: datetime, best_before: date | None, now: datetime) -> None:
    if kind not in Item.Kind.values:
        raise ActionError("Choose whether these are wheels, cuts or packs.", field="kind")
    refuse_future(entered_at, now, field="entered_at")
    if entered_at < lot.begun_at:
        raise ActionError(f"That is before {lot.code} began; correct the time.", field="entered_at")
    if best_before is not None and best_before < entered_at.date():
        raise ActionError("It would be out of date at once; correct the date.", field="best_before")


def _items(
    scope: Scope,
    request_id: UUID,
    lot: Lot,
    kind: str,
    weights: Sequence[Weight],
    place_id: UUID | None,
    best_before: date | None,
    entered_at: datetime,
    now: datetime,
    parent: Item | None,
) -> list[Item]:
    last = Item.objects.filter(lot=lot).aggregate(last=Max("number"))["last"] or 0
    return [
        Item(
            id=uuid5(request_id, str(n)),
            lot=lot,
            number=last + 1 + n,
            kind=kind,
            parent=parent,
            weight_kg=weight.kg,
            typed_weight=weight.text,
            typed_unit=weight.unit,
            place_id=place_id,
            best_before=best_before,
            entered_at=entered_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for n, weight in enumerate(weights)
    ]


def _event(
    scope: Scope,
    event_id: UUID,
    item: Item,
    kind: str,
    occurred_at: datetime,
    now: datetime,
    *,
    weight_kg: float = 0.0,
    ends: bool = False,
    place_id: UUID | None = None,
    note: str = "",
) -> ItemEvent:
    if occurred_at < item.entered_at:
        raise ActionError(f"That is before {item} came into stock; correct the time.", field="occurred_at")
    return ItemEvent(
        id=event_id,
        item=item,
        kind=kind,
        ends=ends,
        weight_kg=weight_kg,
        place_id=place_id,
        note=note,
        occurred_at=occurred_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
