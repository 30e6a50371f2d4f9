"""The trace of one lot: one step back, one step forward, and all the way, as a graph."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from batches.stock.models import Dispatch, ItemEvent
from batches.tracing.amounts import QUANTITY_OF_UNIT, Balance, balances
from haccp.lots import closure
from haccp.lots.models import Lot, LotOrigin
from haccp.lots.queries import in_place_between
from haccp.lots.stays import in_places, moves_of
from haccp.premises.models import Place, Premises, User
from haccp.premises.queries import memberships_of

SHARED_FOR = timedelta(hours=24)  # a vat is cleaned between makes; what was in it a day around may have shared it


Link = tuple[UUID, UUID, float, str]  # parent, child, amount, unit


@dataclass(frozen=True, slots=True)
class Step:
    """One link as seen from a lot."""

    lot: Lot
    amount: float
    unit: str

    @property
    def quantity(self) -> str:
        return QUANTITY_OF_UNIT[self.unit]


@dataclass(frozen=True, slots=True)
class Trace:
    """back, forward: one step. ancestors, descendants: all the way. links: among all of these and the lot itself.

    came_as: the codes of lots at other premises of the producer that lots of this trace came from, and that the reader
    does not see: the trace ends there.
    """

    lot: Lot
    back: tuple[Step, ...]
    forward: tuple[Step, ...]
    ancestors: tuple[Lot, ...]
    descendants: tuple[Lot, ...]
    links: tuple[Link, ...]
    balances: dict[UUID, Balance]
    came_as: tuple[str, ...] = ()

    @property
    def lots(self) -> tuple[Lot, ...]:
        return (*self.ancestors, self.lot, *self.descendants)

    @property
    def balance(self) -> Balance:
        return self.balances[self.lot.pk]


def trace_of(premises: Premises, lot: Lot, *, reader: User | None = None) -> Trace:
    """Costs what is reached; a number of queries that grows with the premises alone.

    reader: who looks. Where cheese was moved between premises of the producer, the trace follows it to those that the
    reader belongs to as well, and no further.
    """
    seen = {premises.pk}
    if reader is not None:
        belongs = memberships_of(reader).filter(premises__producer=premises.producer_id)
        seen |= set(belongs.values_list("premises", flat=True))
    above, moved_in, came_as = _back(lot, seen)
    below, moved_on = _forward(lot, seen)
    found = {
        one.pk: one
        for one in Lot.objects.filter(premises__in=seen, pk__in=above | below | {lot.pk})
        .with_hold()
        .select_related("premises", "product", "milk", "by_product", "ingredient", "arrived", "brine__tank")
        .order_by("begun_at", "code")
    }
    links = [one for one in closure.links_from(found) if one[1] in found] + moved_in + moved_on
    return Trace(
        lot=found[lot.pk],
        back=tuple(Step(found[parent], amount, unit) for parent, child, amount, unit in links if child == lot.pk),
        forward=tuple(Step(found[child], amount, unit) for parent, child, amount, unit in links if parent == lot.pk),
        ancestors=tuple(one for one in found.values() if one.pk in above),
        descendants=tuple(one for one in found.values() if one.pk in below),
        links=tuple(links),
        balances=_balances(found.values()),
        came_as=came_as,
    )


def _back(lot: Lot, seen: set[UUID]) -> tuple[set[UUID], list[Link], tuple[str, ...]]:
    """(lots that went into it, moves between premises among them, codes of those that the reader may not follow)."""
    reached = closure.ancestors([lot.pk])
    moves: list[Link] = []
    unseen: list[str] = []
    frontier = reached | {lot.pk}
    while frontier:
        arrived = LotOrigin.objects.filter(lot__in=frontier, steps=1).select_related("origin", "lot__arrived")
        frontier = set()
        for row in arrived:
            if row.origin.premises_id not in seen:
                unseen.append(row.origin.code)
                continue
            moves.append((row.origin_id, row.lot_id, row.lot.arrived.sent_kg, "kg"))
            frontier |= {row.origin_id, *closure.ancestors([row.origin_id])} - reached
        reached |= frontier
    return reached, moves, tuple(sorted(set(unseen)))


def _forward(lot: Lot, seen: set[UUID]) -> tuple[set[UUID], list[Link]]:
    """(lots made of it, or that it became at other premises; moves between premises among them)."""
    reached = closure.descendants([lot.pk])
    moves: list[Link] = []
    frontier = reached | {lot.pk}
    while frontier:
        sent = LotOrigin.objects.filter(origin__in=frontier, steps=1, lot__premises__in=seen)
        frontier = set()
        for row in sent.select_related("lot__arrived"):
            moves.append((row.origin_id, row.lot_id, row.lot.arrived.sent_kg, "kg"))
            frontier |= {row.lot_id, *closure.descendants([row.lot_id])} - reached
        reached |= frontier
    return reached, moves


def _balances(lots: Iterable[Lot]) -> dict[UUID, Balance]:
    by_premises: dict[UUID, list[Lot]] = defaultdict(list)
    for lot in lots:
        by_premises[lot.premises_id].append(lot)
    found: dict[UUID, Balance] = {}
    for group in by_premises.values():
        found |= balances(group[0].premises, group)
    return found


@dataclass(frozen=True, slots=True)
class Company:
    """A place that a lot was in, and what was in it at the same time."""

    place: Place
    lots: tuple[Lot, ...]


def company_of(lot: Lot) -> list[Company]:
    """Equipment and rooms that a lot shared: a vat with the makes of the day before and after, a room with all that
    lay there meanwhile. Two queries for each stay."""
    found: dict[UUID, tuple[Place, dict[UUID, Lot]]] = {}
    for stay in in_places(moves_of([lot.pk])[lot.pk]):
        is_vat = stay.place.kind == Place.Kind.VAT
        start = stay.start - SHARED_FOR if is_vat else stay.start
        end = stay.end or (stay.start + SHARED_FOR if is_vat else timezone.now())
        _place, there = found.setdefault(stay.place.pk, (stay.place, {}))
        there.update({one.pk: one for one in in_place_between(stay.place, start, end) if one.pk != lot.pk})
    return [Company(place, tuple(sorted(there.values(), key=lambda one: one.code))) for place, there in found.values()]


@dataclass(frozen=True, slots=True)
class Sent:
    """What of one lot went to one customer in one dispatch, and how much of it came back since."""

    dispatch: Dispatch
    lot: Lot
    pieces: int
    weight_kg: float
    pieces_back: int = 0
    back_kg: float = 0.0


def sent_of(lots: Sequence[Lot]) -> list[Sent]:
    """Every dispatch of these lots, by customer, then time. One query."""
    back = ItemEvent.objects.filter(kind=ItemEvent.Kind.RETURNED, item__parent=OuterRef("item"))
    events = (
        ItemEvent.objects.filter(item__lot__in=lots, kind=ItemEvent.Kind.DISPATCHED)
        .annotate(back_kg=Subquery(back.values("weight_kg")[:1]))
        .select_related("dispatch__customer", "item__lot__product", "item__lot__arrived", "item__lot__premises")
        .order_by("dispatch__customer__name", "dispatch__dispatched_at", "item__lot__code")
    )
    sums: dict[tuple[UUID, UUID], Sent] = {}
    for event in events:
        assert event.dispatch is not None
        key = (event.dispatch.pk, event.item.lot_id)
        before = sums.get(key)
        sums[key] = Sent(
            event.dispatch,
            event.item.lot,
            (before.pieces if before else 0) + 1,
            (before.weight_kg if before else 0.0) + event.weight_kg,
            (before.pieces_back if before else 0) + (event.back_kg is not None),
            (before.back_kg if before else 0.0) + (event.back_kg or 0.0),
        )
    return list(sums.values())
