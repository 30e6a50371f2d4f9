"""What a recall finds: every lot touched, how much of it there is and where, and whom to call."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils import timezone

from batches.recall.models import RecallMark
from batches.stock.models import Customer
from batches.stock.queries import counter_left_kg, items_of
from batches.tracing.amounts import Balance, balances, sold_at_counter
from batches.tracing.graph import Sent, sent_of
from haccp.deviations.reach import implicated_with
from haccp.lots import closure
from haccp.lots.models import Hold, Lot
from haccp.lots.queries import held_elsewhere
from haccp.premises.models import Premises


@dataclass(frozen=True, slots=True)
class Touched:
    """A lot that the recall reaches. in_house_kg: in stock and at the counter. where: room -> kg. dispatched_kg: less
    what came back."""

    lot: Lot
    balance: Balance
    is_held: bool
    in_house_kg: float
    where: tuple[tuple[str, float], ...]
    at_counter_kg: float
    sold_at_counter_kg: float
    dispatched_kg: float


@dataclass(frozen=True, slots=True)
class ToCall:
    """A customer, and what was sent to them."""

    customer: Customer
    sent: tuple[Sent, ...]

    @property
    def weight_kg(self) -> float:
        return sum(one.weight_kg for one in self.sent)

    @property
    def pieces(self) -> int:
        return sum(one.pieces for one in self.sent)


@dataclass(frozen=True, slots=True)
class Findings:
    """touched: the chosen lot first, then in the order in which they began."""

    lot: Lot
    touched: tuple[Touched, ...]
    customers: tuple[ToCall, ...]

    @property
    def made_kg(self) -> float:
        return sum(one.balance.there or 0.0 for one in self._cheese)

    @property
    def dispatched_kg(self) -> float:
        return sum(one.dispatched_kg for one in self._cheese)

    @property
    def in_house_kg(self) -> float:
        return sum(one.in_house_kg for one in self._cheese)

    @property
    def held_kg(self) -> float:
        return sum(one.in_house_kg for one in self._cheese if one.is_held)

    @property
    def sold_at_counter_kg(self) -> float:
        return sum(one.sold_at_counter_kg for one in self._cheese)

    @property
    def unexplained_kg(self) -> float:
        return sum(one.balance.unexplained or 0.0 for one in self._cheese)

    @property
    def accounted_percent(self) -> float | None:
        """How much of the cheese made is accounted for; None where none came into stock."""
        return 100.0 * (1 - abs(self.unexplained_kg) / self.made_kg) if self.made_kg else None

    @property
    def not_held(self) -> tuple[Lot, ...]:
        """Lots of which something is in house and not on hold: what to stop now."""
        return tuple(one.lot for one in self.touched if not one.is_held and one.in_house_kg > 0)

    @property
    def figures(self) -> dict[str, object]:
        """As they are kept with the record of the recall."""
        return {
            "lots": [one.lot.code for one in self.touched],
            "customers": len(self.customers),
            "made_kg": round(self.made_kg, 3),
            "dispatched_kg": round(self.dispatched_kg, 3),
            "sold_at_counter_kg": round(self.sold_at_counter_kg, 3),
            "in_house_kg": round(self.in_house_kg, 3),
            "on_hold_kg": round(self.held_kg, 3),
            "unexplained_kg": round(self.unexplained_kg, 3),
        }

    @property
    def _cheese(self) -> list[Touched]:
        return [one for one in self.touched if one.lot.kind in (Lot.Kind.BATCH, Lot.Kind.RECEIVED)]


def findings(premises: Premises, lot: Lot, reach: str, at: datetime | None = None) -> Findings:
    """Computed from what is recorded now, in a constant number of queries. at: when the lot was chosen, so that a
    deviation that is closed while the recall goes on still counts; None for now."""
    seeds = {lot.pk}
    if reach == RecallMark.Reach.SIBLINGS:
        seeds |= closure.ancestors([lot.pk])
    elif reach == RecallMark.Reach.IMPLICATED:
        seeds |= implicated_with(lot, at or timezone.now())
    ids = seeds | closure.descendants(seeds)
    lots = list(
        Lot.objects.for_premises(premises).filter(pk__in=ids).select_related("product").order_by("begun_at", "code")
    )
    lots.sort(key=lambda one: one.pk != lot.pk)
    sent = sent_of(lots)
    return Findings(lot, _touched(premises, lots, sent), _to_call(sent))


def _touched(premises: Premises, lots: Sequence[Lot], sent: Sequence[Sent]) -> tuple[Touched, ...]:
    held = set(Hold.objects.standing().filter(lot__in=lots).values_list("lot_id", flat=True))
    held |= held_elsewhere([lot.pk for lot in lots])
    found = balances(premises, lots)
    where: dict[UUID, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for item in items_of(premises, only_here=True).filter(lot__in=lots):
        where[item.lot_id][item.place_name or "place not said"] += item.now_kg
    counter, sold = counter_left_kg([lot.pk for lot in lots]), sold_at_counter(lots)
    dispatched: dict[UUID, float] = defaultdict(float)
    for one in sent:
        dispatched[one.lot.pk] += one.weight_kg - one.back_kg
    return tuple(
        Touched(
            lot=lot,
            balance=found[lot.pk],
            is_held=lot.pk in held,
            in_house_kg=sum(where[lot.pk].values()) + max(counter.get(lot.pk, 0.0), 0.0),
            where=tuple(sorted(where[lot.pk].items())),
            at_counter_kg=max(counter.get(lot.pk, 0.0), 0.0),
            sold_at_counter_kg=sold.get(lot.pk, 0.0),
            dispatched_kg=dispatched[lot.pk],
        )
        for lot in lots
    )


def _to_call(sent: Sequence[Sent]) -> tuple[ToCall, ...]:
    by_customer: dict[UUID, list[Sent]] = defaultdict(list)
    for one in sent:
        by_customer[one.dispatch.customer_id].append(one)
    return tuple(ToCall(group[0].dispatch.customer, tuple(group)) for group in by_customer.values())
