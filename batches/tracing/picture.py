"""The trace as a picture: milk at the top, what was made of it beneath, the same on the page and on paper."""

from uuid import UUID

from django.utils.safestring import SafeString, mark_safe

from batches.tracing.amounts import QUANTITY_OF_UNIT, Balance
from batches.tracing.graph import Trace
from haccp.drawing.flow_chart import Control, Flow, FlowArrow, FlowStep, flow
from haccp.drawing.layout import COMPACT, WIDE, Layout
from haccp.drawing.picture import Picture
from haccp.drawing.svg import to_svg_pair
from haccp.lots.models import Lot
from haccp.science.units import show

MOST_IN_PICTURE = 40


def amount_words(amount: float, unit: str) -> str:
    return show(QUANTITY_OF_UNIT[unit], amount)


def lot_words(lot: Lot) -> str:
    """What a lot is, beside its code."""
    if lot.product is not None:
        return lot.product.name
    if lot.kind == Lot.Kind.MILK and hasattr(lot, "milk"):
        return f"{lot.milk.get_species_display()}'s milk, {lot.milk.source}"
    if lot.kind == Lot.Kind.BY_PRODUCT and hasattr(lot, "by_product"):
        return str(lot.by_product.get_kind_display())
    if lot.kind == Lot.Kind.BRINE and hasattr(lot, "brine"):
        return f"brine, {lot.brine.tank.name}"
    if lot.kind == Lot.Kind.RECEIVED and hasattr(lot, "arrived"):
        return lot.arrived.cheese
    if lot.kind == Lot.Kind.INGREDIENT and hasattr(lot, "ingredient"):
        return f"{lot.ingredient.get_kind_display()}, {lot.ingredient.name}"
    return str(lot.get_kind_display())


def nearest(trace: Trace) -> tuple[Lot, ...]:
    """The lots that the picture has room for: those the fewest steps away from the lot that is traced."""
    steps: dict[UUID, set[UUID]] = {}
    for parent, child, _amount, _unit in trace.links:
        steps.setdefault(parent, set()).add(child)
        steps.setdefault(child, set()).add(parent)
    kept, frontier = [trace.lot.pk], [trace.lot.pk]
    while frontier and len(kept) < MOST_IN_PICTURE:
        ahead = sorted({other for one in frontier for other in steps.get(one, ())} - set(kept), key=str)
        kept += ahead
        frontier = ahead
    shown = set(kept[:MOST_IN_PICTURE])
    return tuple(lot for lot in trace.lots if lot.pk in shown)


def trace_picture(trace: Trace, *, id_prefix: str) -> SafeString:
    """Empty for a lot that nothing went into and nothing was made of."""
    if not trace.links:
        return SafeString("")
    # Safe: the drawing room escapes every text that it writes.
    return mark_safe(to_svg_pair(draw(trace, WIDE), draw(trace, COMPACT), id_prefix=id_prefix))  # noqa: S308


def draw(trace: Trace, layout: Layout) -> Picture:
    lots = nearest(trace)
    numbers = {lot.pk: number for number, lot in enumerate(lots, start=1)}
    brines = _brines(trace)
    steps = tuple(_step(trace, lot, numbers[lot.pk]) for lot in lots)
    arrows = tuple(
        FlowArrow(
            numbers[parent], numbers[child], label="lay in it" if parent in brines else amount_words(amount, unit)
        )
        for parent, child, amount, unit in trace.links
        if parent in numbers and child in numbers
    )
    return flow(Flow(f"Trace of {trace.lot.code}", in_words(trace), steps, layout, arrows))


def in_words(trace: Trace) -> str:
    """The whole picture for who cannot see it."""
    codes, brines = {lot.pk: lot.code for lot in trace.lots}, _brines(trace)
    return "; ".join(
        f"{codes[child]} lay in {codes[parent]}"
        if parent in brines
        else f"{amount_words(amount, unit)} of {codes[parent]} into {codes[child]}"
        for parent, child, amount, unit in trace.links
    )


def _into(amount: float, unit: str, *, is_brine: bool) -> str:
    return "lay in it" if is_brine else amount_words(amount, unit)


def _brines(trace: Trace) -> set[UUID]:
    """A brine is not used up: nothing of it is measured into a batch."""
    return {lot.pk for lot in trace.lots if lot.kind == Lot.Kind.BRINE}


def _step(trace: Trace, lot: Lot, number: int) -> FlowStep:
    marks = [Control("this lot", "", is_critical=False)] if lot.pk == trace.lot.pk else []
    if getattr(lot, "is_held", False):
        marks.append(Control("on hold", "", is_critical=True))
    return FlowStep(number, lot.code, lot_words(lot), tuple(marks), outputs=_gone(trace.balances[lot.pk]))


def _gone(balance: Balance) -> tuple[str, ...]:
    """What left for customers or is still here; what went into other lots is told by the arrows."""
    return tuple(f"{one.label} {amount_words(one.amount, balance.unit)}" for one in balance.outlets if one.lot is None)
