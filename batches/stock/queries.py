"""Reads about stock: what is there, what it weighs now, and what may leave."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db.models import (
    Count,
    DateTimeField,
    Exists,
    F,
    FloatField,
    OuterRef,
    QuerySet,
    Subquery,
    Sum,
    UUIDField,
    Value,
)
from django.db.models.functions import Coalesce

from batches.release.queries import standing_releases
from batches.stock.models import Arrival, ArrivedLot, CounterSale, Customer, Dispatch, Item, ItemEvent
from haccp.deviations.models import LotEnd
from haccp.lots.models import Hold, Lot, LotOrigin
from haccp.lots.queries import HELD_ELSEWHERE
from haccp.premises.models import Premises

Kind = ItemEvent.Kind
# An Item with what items_of adds to it.
Piece = Any
_NEVER = datetime(1970, 1, 1, tzinfo=UTC)
TAKEN = (Kind.SAMPLE, Kind.LOSS)


def items_of(premises: Premises, *, only_here: bool = False) -> QuerySet[Piece]:
    """Each with now_kg (what it weighs by what was recorded last), place_now_id, place_name and is_here.

    only_here: those in stock.
    """
    events = ItemEvent.objects.filter(item=OuterRef("pk"))
    last_weighed = events.filter(kind=Kind.WEIGHED).order_by("-occurred_at", "-recorded_at")
    weighed_at = Coalesce(Subquery(last_weighed.values("occurred_at")[:1]), Value(_NEVER), output_field=DateTimeField())
    moved = events.filter(kind=Kind.MOVED).order_by("-occurred_at", "-recorded_at")
    items = (
        Item.objects.for_premises(premises)
        .annotate(
            weighed_at=weighed_at,
            last_kg=Coalesce(Subquery(last_weighed.values("weight_kg")[:1]), F("weight_kg")),
            taken_kg=Coalesce(
                Subquery(
                    events.filter(kind__in=TAKEN, ends=False)
                    .filter(occurred_at__gt=OuterRef("weighed_at"))
                    .order_by()
                    .values("item")
                    .annotate(sum=Sum("weight_kg"))
                    .values("sum"),
                    output_field=FloatField(),
                ),
                Value(0.0),
            ),
            place_now_id=Coalesce(Subquery(moved.values("place")[:1]), F("place"), output_field=UUIDField()),
            place_name=Coalesce(Subquery(moved.values("place__name")[:1]), F("place__name")),
            is_here=~Exists(events.filter(ends=True)),
        )
        .annotate(now_kg=F("last_kg") - F("taken_kg"))
        .select_related("lot", "lot__product", "lot__arrived")
        .order_by("lot__begun_at", "lot__code", "number")
    )
    return items.filter(is_here=True) if only_here else items


@dataclass(frozen=True, slots=True)
class LotStock:
    """Of one batch: how many items of it are here and what they weigh, and whether they may leave."""

    lot: Lot
    count: int
    weight_kg: float
    best_before: date | None
    why_not: str

    @property
    def may_leave(self) -> bool:
        return not self.why_not


def stock_by_lot(premises: Premises) -> list[LotStock]:
    """Batches with anything in stock, the oldest first; a constant number of queries."""
    here: dict[UUID, list[Piece]] = defaultdict(list)
    for item in items_of(premises, only_here=True):
        here[item.lot_id].append(item)
    why_not = why_not_leave(here)
    return [
        LotStock(
            lot=items[0].lot,
            count=len(items),
            weight_kg=sum(item.now_kg for item in items),
            best_before=min((item.best_before for item in items if item.best_before), default=None),
            why_not=why_not.get(lot_id, ""),
        )
        for lot_id, items in here.items()
    ]


def why_not_leave(lot_ids: Iterable[UUID]) -> dict[UUID, str]:
    """Lot -> why nothing of it may leave; lots that may leave are not in it. Four queries.

    What came from another premises of the producer was released where it was made, and may leave for as long as it
    might leave there: a hold, an end, or a release that a hold has ended there stops it here at once.
    """
    ids = list(lot_ids)
    behind: dict[UUID, list[UUID]] = {lot_id: [] for lot_id in ids}
    for row in LotOrigin.objects.filter(lot__in=ids).order_by("steps"):
        behind[row.lot_id].append(row.origin_id)
    everywhere = {*ids, *(origin for origins in behind.values() for origin in origins)}
    held: dict[UUID, str] = {}
    for hold in Hold.objects.standing().filter(lot__in=everywhere).order_by("placed_at"):
        held.setdefault(hold.lot_id, f"on hold: {hold.reason}")
    for end in LotEnd.objects.filter(lot__in=everywhere):
        held[end.lot_id] = f"no more: {end.get_disposition_display()}"
    released = standing_releases(everywhere)
    why: dict[UUID, str] = {}
    for lot_id, origins in behind.items():
        if lot_id in held:
            why[lot_id] = held[lot_id]
        elif any(origin in held for origin in origins):
            why[lot_id] = HELD_ELSEWHERE
        elif (origins[-1] if origins else lot_id) not in released:
            why[lot_id] = "not released where it was made" if origins else "not released"
    return why


def counter_left_kg(lot_ids: Sequence[UUID]) -> dict[UUID, float]:
    """Lot -> what was opened at the counter and is in no day's total yet."""
    opened = ItemEvent.objects.filter(item__lot__in=lot_ids, kind=Kind.TO_COUNTER).order_by().values("item__lot")
    found: dict[UUID, float] = defaultdict(float)
    found |= dict(opened.annotate(sum=Sum("weight_kg")).values_list("item__lot", "sum"))
    for lot_id, sold in (
        CounterSale.objects.filter(lot__in=lot_ids)
        .order_by()
        .values("lot")
        .annotate(sum=Sum("weight_kg"))
        .values_list("lot", "sum")
    ):
        found[lot_id] -= sold
    return found


def at_counter(premises: Premises) -> list[tuple[Lot, float]]:
    """Batches with something left at the counter."""
    ids = list(
        ItemEvent.objects.filter(item__lot__premises=premises, kind=Kind.TO_COUNTER)
        .values_list("item__lot", flat=True)
        .distinct()
    )
    left = counter_left_kg(ids)
    lots = Lot.objects.filter(pk__in=[lot_id for lot_id, kg in left.items() if kg > 0]).select_related("product")
    return [(lot, left[lot.pk]) for lot in lots.order_by("begun_at")]


def customers_of(premises: Premises) -> QuerySet[Customer]:
    return Customer.objects.filter(premises=premises)


def dispatches_of(premises: Premises) -> QuerySet[Dispatch]:
    """Newest first, each with item_count and sent_kg."""
    return (
        Dispatch.objects.filter(premises=premises)
        .select_related("customer", "recorded_by", "transfer", "arrival")
        .annotate(item_count=Count("events"), sent_kg=Coalesce(Sum("events__weight_kg"), Value(0.0)))
        .order_by("-dispatched_at", "-number")
    )


def dispatched_lines(dispatch: Dispatch) -> list[Any]:
    """ItemEvents of what left, each with came_back."""
    back = ItemEvent.objects.filter(kind=Kind.RETURNED, item__parent=OuterRef("item"))
    return list(
        dispatch.events.annotate(came_back=Exists(back))
        .select_related("item__lot__product", "item__lot__arrived")
        .order_by("item__lot__code", "item__number")
    )


def arrived_count(dispatch: Dispatch) -> int:
    """How many pieces of a transfer arrived; 0 while none did."""
    came = ArrivedLot.objects.filter(arrival__dispatch=dispatch).aggregate(sum=Sum("pieces"))
    return came["sum"] or 0


def arriving_at(premises: Premises) -> QuerySet[Dispatch]:
    """Sent here by another premises of the producer and not yet recorded as arrived, the oldest first; each with
    item_count and sent_kg."""
    return (
        Dispatch.objects.filter(transfer__receiver=premises, arrival__isnull=True)
        .select_related("premises", "transfer")
        .annotate(item_count=Count("events"), sent_kg=Coalesce(Sum("events__weight_kg"), Value(0.0)))
        .order_by("dispatched_at", "number")
    )


def arrivals_of(premises: Premises) -> QuerySet[Arrival]:
    """Newest first, with what came of each lot."""
    return Arrival.objects.filter(premises=premises).select_related("dispatch__premises").prefetch_related("lots__lot")
