"""Sales over the counter: pieces opened there, and each day's total of a batch."""

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.stock import sealing
from batches.stock.actions.entering import (
    events_write,
    find_cheese,
    find_items,
    lock,
    refuse_future,
    refuse_what_may_not_leave,
)
from batches.stock.models import CounterSale, ItemEvent
from batches.stock.queries import counter_left_kg, why_not_leave
from batches.stock.weights import ROUNDING_KG, read_weight
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.units import show


@transaction.atomic
def counter_open(
    *, scope: Scope, request_id: UUID, item_ids: Sequence[UUID], opened_at: datetime, now: datetime | None = None
) -> list[ItemEvent]:
    """Opens pieces at the counter: they are sold by weight from then on. Nothing on hold or unreleased."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    there = list(ItemEvent.objects.filter(pk__in=[uuid5(request_id, str(one)) for one in item_ids]))
    if there:
        return there
    refuse_future(opened_at, now, field="opened_at")
    items = find_items(scope, item_ids)
    refuse_what_may_not_leave(items)
    opened = [
        ItemEvent(
            id=uuid5(request_id, str(item.pk)),
            item=item,
            kind=ItemEvent.Kind.TO_COUNTER,
            ends=True,
            weight_kg=item.now_kg,
            occurred_at=opened_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for item in items
    ]
    events_write(scope, opened, now)
    return opened


@transaction.atomic
def counter_total(
    *,
    scope: Scope,
    sale_id: UUID,
    lot_id: UUID,
    day: date,
    weight: str,
    unit: str,
    now: datetime | None = None,
) -> CounterSale:
    """A day's total of one batch. Raises ActionError for more than was opened, and for what is on hold."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    there = CounterSale.objects.filter(pk=sale_id).first()
    if there is not None:
        kept = (there.lot_id, there.day, there.typed_weight, there.typed_unit)
        if kept != (lot_id, day, weight.strip(), unit):
            raise Conflict("This total was already sent with other content; start a new entry.")
        return there
    lot = find_cheese(scope, lot_id)
    if day > scope.premises.local_date(now):
        raise ActionError("That day has not come yet; correct the date.", field="day")
    if CounterSale.objects.filter(lot=lot, day=day).exists():
        raise Conflict(f"The total of {lot.code} on {day:%d %b} is already recorded.", field="day")
    why_not = why_not_leave([lot.pk]).get(lot.pk)
    if why_not:
        raise ActionError(f"{lot.code} is {why_not}. Take it off the counter.", field="lot")
    read = read_weight(weight, unit)
    left = counter_left_kg([lot.pk])[lot.pk]
    if read.kg > left + ROUNDING_KG:
        words = f"Only {show('mass', max(left, 0.0))} of {lot.code} was opened at the counter and not sold yet."
        raise ActionError(words, field="weight")
    sale = CounterSale.objects.create(
        id=sale_id,
        lot=lot,
        day=day,
        weight_kg=read.kg,
        typed_weight=read.text,
        typed_unit=read.unit,
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="stock.counter_total",
        subject=f"counter_sale:{sale.pk}",
        body=sealing.sale_body(sale),
        actor=scope.actor,
        at=now,
    )
    return sale
