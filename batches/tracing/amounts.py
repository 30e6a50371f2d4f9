"""How much there is of each lot, and how much of it went where: the two sides of a mass balance.

A lot is counted in its own unit (milk and whey in L, the rest in kg). Only where one unit went into another, as milk
into cheese, is volume turned into mass.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from django.db.models import Sum

from batches.intake.models import IngredientLot, MilkLot, StockChange
from batches.intake.stock import SI_UNIT
from batches.making.brines import brines_of
from batches.stock.models import ArrivedLot, CounterSale, Item, ItemEvent
from batches.stock.queries import items_of
from batches.tracing.models import ByProduct
from haccp.lots.models import Lot, LotLink
from haccp.premises.models import Premises

Kind = ItemEvent.Kind
# kg/L at about 15 °C: common practice, no source; the true figure moves by 1 % with fat and temperature.
DENSITY_KG_PER_L = {"milk": 1.030, "by_product": 1.025}
ROUNDING = {"L": 0.05, "kg": 0.005, "pc": 0.5}
QUANTITY_OF_UNIT = {"L": "volume", "kg": "mass", "pc": "pieces"}


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where some of a lot went. label: in the trade's words."""

    label: str
    amount: float
    lot: Lot | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """there: None where nobody recorded how much there is. outlets: without those of nothing."""

    lot: Lot
    unit: str
    there: float | None
    outlets: tuple[Outlet, ...] = field(default=())

    @property
    def quantity(self) -> str:
        """The quantity of science.units that it is shown as."""
        return QUANTITY_OF_UNIT[self.unit]

    @property
    def accounted(self) -> float:
        return sum(one.amount for one in self.outlets)

    @property
    def unexplained(self) -> float | None:
        """Positive: some of it went nobody knows where. Negative: more went than there was."""
        return None if self.there is None else self.there - self.accounted

    @property
    def accounted_share(self) -> float | None:
        return self.accounted / self.there if self.there else None

    @property
    def is_balanced(self) -> bool:
        """Within 1 % and what scales and dip sticks round."""
        off = self.unexplained
        return off is not None and abs(off) <= max(ROUNDING[self.unit], 0.01 * (self.there or 0.0))


def balances(premises: Premises, lots: Iterable[Lot]) -> dict[UUID, Balance]:
    """Of each lot: what there is of it, and where it went. A constant number of queries."""
    lots = list(lots)
    there = amounts_there(lots)
    outlets = _uses(lots)
    for lot_id, gone in _stock(premises, lots).items():
        outlets[lot_id] += gone
    for lot in lots:
        if lot.kind == Lot.Kind.INGREDIENT:
            outlets[lot.pk] += _in_store(there.get(lot.pk, ("", None))[1], outlets[lot.pk])
    return {
        lot.pk: Balance(
            lot,
            *there.get(lot.pk, (_unit_of(lot), None)),
            tuple(one for one in outlets[lot.pk] if abs(one.amount) > 1e-9),
        )
        for lot in lots
    }


def amounts_there(lots: Iterable[Lot]) -> dict[UUID, tuple[str, float | None]]:
    """Lot -> (unit, how much there is): milk as received, by-products as measured, batches as they came into stock."""
    ids = [lot.pk for lot in lots]
    found: dict[UUID, tuple[str, float | None]] = {
        lot_id: ("L", volume) for lot_id, volume in MilkLot.objects.filter(pk__in=ids).values_list("pk", "volume_l")
    }
    for lot_id, amount, quantity in IngredientLot.objects.filter(pk__in=ids).values_list("pk", "amount_si", "quantity"):
        found[lot_id] = (SI_UNIT[quantity], amount)
    for brine in brines_of(lots):
        found[brine.pk] = ("L", brine.volume_l)
    for lot_id, amount, unit in ByProduct.objects.filter(pk__in=ids).values_list("pk", "amount", "unit"):
        found[lot_id] = (unit, amount)
    sent = ArrivedLot.objects.filter(pk__in=ids).values_list("pk", "sent_kg")
    arrived: dict[UUID, tuple[str, float | None]] = {lot_id: ("kg", kg) for lot_id, kg in sent}
    roots = Item.objects.filter(lot__in=ids, parent__isnull=True).order_by().values("lot")
    for lot_id, weight in roots.annotate(sum=Sum("weight_kg")).values_list("lot", "sum"):
        found[lot_id] = ("kg", weight)
    # What left the other premises, so that what did not arrive stands as unexplained.
    return found | arrived


def left_of(lot: Lot) -> tuple[str, float | None]:
    """(unit, what went into nothing yet) by links alone; None where nobody recorded how much there is."""
    unit, there = amounts_there([lot]).get(lot.pk, (_unit_of(lot), None))
    if there is None:
        return unit, None
    used = LotLink.objects.filter(parent=lot, unit=unit).aggregate(used=Sum("amount"))["used"] or 0.0
    return unit, there - used


@dataclass(frozen=True, slots=True)
class Yield:
    """Of a batch: kg that went in (milk by its density), kg of cheese and of by-products that came out."""

    into_kg: float
    cheese_kg: float
    by_products_kg: float

    @property
    def unexplained_kg(self) -> float:
        return self.into_kg - self.cheese_kg - self.by_products_kg


def yield_of(lot: Lot) -> Yield:
    into = sum(
        mass_kg(link.amount, link.unit, link.parent.kind)
        for link in LotLink.objects.filter(child=lot).exclude(parent__kind=Lot.Kind.BRINE).select_related("parent")
    )
    off = sum(
        mass_kg(link.amount, link.unit, link.child.kind)
        for link in LotLink.objects.filter(parent=lot, child__kind=Lot.Kind.BY_PRODUCT).select_related("child")
    )
    cheese = Item.objects.filter(lot=lot, parent__isnull=True).aggregate(sum=Sum("weight_kg"))["sum"] or 0.0
    return Yield(into, cheese, off)


def mass_kg(amount: float, unit: str, kind: str) -> float:
    if unit == "pc":
        return 0.0  # packaging
    return amount if unit == "kg" else amount * DENSITY_KG_PER_L.get(kind, 1.0)


def _in_store(there: float | None, outlets: list[Outlet]) -> list[Outlet]:
    """What is left of an ingredient by the book: counting it again tells how much of that is true."""
    rest = 0.0 if there is None else there - sum(one.amount for one in outlets)
    return [Outlet("in store, by the book", rest)] if rest > 0 else []


def _unit_of(lot: Lot) -> str:
    return "L" if lot.kind in (Lot.Kind.MILK, Lot.Kind.BRINE) else "kg"


def _uses(lots: list[Lot]) -> dict[UUID, list[Outlet]]:
    """What went into other lots. By-products of a batch are told by its yield: they are no part of its cheese. A brine
    is not used up by what lies in it.
    """
    found: dict[UUID, list[Outlet]] = defaultdict(list)
    links = LotLink.objects.filter(parent__in=lots).select_related("parent", "child").order_by("child__begun_at")
    for link in links:
        if link.parent.kind == Lot.Kind.BATCH and link.child.kind == Lot.Kind.BY_PRODUCT:
            continue
        if link.parent.kind == Lot.Kind.BRINE:
            continue
        found[link.parent_id].append(Outlet(f"into {link.child.code}", link.amount, link.child))
    for brine in brines_of(lots):
        label = "discarded" if brine.discarded_at else "in use"
        found[brine.pk].append(Outlet(label, brine.volume_l))
    changes = StockChange.objects.filter(lot__in=lots).order_by().values("lot").annotate(sum=Sum("change_si"))
    for lot_id, change in changes.values_list("lot", "sum"):
        found[lot_id].append(Outlet("written off or counted again", -change))
    return found


_GONE = {
    Kind.DISPATCHED: "dispatched",
    Kind.TO_COUNTER: "opened at the counter",
    Kind.SAMPLE: "samples",
    Kind.LOSS: "lost or destroyed",
}


def _stock(premises: Premises, lots: list[Lot]) -> dict[UUID, list[Outlet]]:
    """Of cheese: dispatched (less what came back), sold, lost, dried out, trimmed, and what is here."""
    found: dict[UUID, list[Outlet]] = defaultdict(list)
    items = list(items_of(premises).filter(lot__in=lots).prefetch_related("events"))
    parts_kg: dict[UUID, float] = defaultdict(float)
    for item in items:
        if item.parent_id:
            parts_kg[item.parent_id] += item.weight_kg
    sums: dict[tuple[UUID, str], float] = defaultdict(float)
    for item in items:
        for event in item.events.all():
            if event.kind in _GONE:
                sums[item.lot_id, _GONE[event.kind]] += event.weight_kg
            elif event.kind == Kind.RETURNED:
                sums[item.lot_id, "came back"] -= event.weight_kg
            elif event.kind == Kind.CUT_UP:
                sums[item.lot_id, "trim"] += event.weight_kg - parts_kg[item.pk]
        sums[item.lot_id, "dried out between weighings"] += _dried_kg(item)
        if item.is_here:
            sums[item.lot_id, "in stock"] += item.now_kg
    for (lot_id, label), amount in sums.items():
        found[lot_id].append(Outlet(label, amount))
    return found


def _dried_kg(item: Item) -> float:
    """What weighing again showed to be gone that nobody took. May be less than nothing where a scale was wrong."""
    dried, last = 0.0, item.weight_kg
    for event in sorted(item.events.all(), key=lambda event: (event.occurred_at, event.recorded_at)):
        if event.kind == Kind.WEIGHED:
            dried += last - event.weight_kg
            last = event.weight_kg
        elif event.kind in (Kind.SAMPLE, Kind.LOSS) and not event.ends:
            last -= event.weight_kg
    return dried


def sold_at_counter(lots: Iterable[Lot]) -> dict[UUID, float]:
    sales = CounterSale.objects.filter(lot__in=list(lots)).order_by().values("lot")
    return dict(sales.annotate(sum=Sum("weight_kg")).values_list("lot", "sum"))
