"""Traceability records with the key data elements of 21 CFR part 1 subpart S.

1.1345 receiving, 1.1350 transformation, 1.1340 shipping; the lists of elements are from memory of the final rule
(87 FR 70910, 21 November 2022) and of its text as printed by third parties. Times are days at the dairy.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from batches.intake.models import IngredientLot, MilkLot
from batches.intake.stock import SI_UNIT
from batches.stock.models import ArrivedLot, Dispatch, Item, ItemEvent
from batches.tracing.graph import Sent, sent_of
from batches.tracing.picture import lot_words
from haccp.checks.queries import day_bounds
from haccp.lots.models import Lot, LotLink
from haccp.premises.models import Premises

Cell = str | float | date


@dataclass(frozen=True, slots=True)
class Sheet:
    """title and clause; columns: the element as the regulation numbers it, and its words."""

    title: str
    clause: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


RECEIVING = (
    "(1) Traceability lot code",
    "(2) Quantity",
    "(2) Unit of measure",
    "(3) Product description",
    "(4) Immediate previous source",
    "(5) Where it was received",
    "(6) Date received",
    "(7) Traceability lot code source",
    "(8) Reference document",
)
TRANSFORMATION = (
    "(a)(1)(i) Traceability lot code of the input",
    "(a)(1)(ii) Product description of the input",
    "(a)(1)(iii) Quantity used",
    "(a)(1)(iii) Unit of measure",
    "(a)(2)(i) New traceability lot code",
    "(a)(2)(ii) Where it was transformed (traceability lot code source)",
    "(a)(2)(iii) Date transformation was completed",
    "(a)(2)(iv) Product description of the output",
    "(a)(2)(v) Quantity made",
    "(a)(2)(v) Unit of measure",
    "(a)(2)(vi) Reference document",
)
SHIPPING = (
    "(1) Traceability lot code",
    "(2) Quantity",
    "(2) Unit of measure",
    "(3) Product description",
    "(4) Immediate subsequent recipient",
    "(5) Where it was shipped from",
    "(6) Date shipped",
    "(7) Traceability lot code source",
    "(8) Reference document",
)


def key_data(premises: Premises, first: date, last: date) -> tuple[Sheet, Sheet, Sheet]:
    """Everything received, made and shipped on these days at the dairy, in a constant number of queries."""
    start, _ = day_bounds(premises, first)
    _, end = day_bounds(premises, last)
    return (
        Sheet("Receiving", "21 CFR 1.1345(a)", RECEIVING, tuple(_received(premises, start, end))),
        Sheet("Transformation", "21 CFR 1.1350(a)", TRANSFORMATION, tuple(_transformed(premises, start, end))),
        Sheet("Shipping", "21 CFR 1.1340(a)", SHIPPING, tuple(_shipped(premises, start, end))),
    )


def location(premises: Premises) -> str:
    """Name and address in one line, with the approval number where there is one."""
    parts = [premises.name, *premises.address.splitlines(), premises.approval_number]
    return ", ".join(part.strip() for part in parts if part.strip())


def lots_begun(premises: Premises, kind: str, start: datetime, end: datetime) -> list[Lot]:
    lots = Lot.objects.for_premises(premises).filter(kind=kind).begun_between(start, end)
    return list(lots.select_related("product", "milk", "by_product", "ingredient").order_by("begun_at", "code"))


def _received(premises: Premises, start: datetime, end: datetime) -> Iterable[tuple[Cell, ...]]:
    here = location(premises)
    milk = MilkLot.objects.filter(lot__premises=premises, lot__begun_at__gte=start, lot__begun_at__lt=end)
    # A blend was received as its parts.
    for one in milk.filter(lot__links_in__isnull=True).select_related("lot").order_by("lot__begun_at"):
        yield (
            one.lot.code, one.volume_l, "L", f"{one.get_species_display()}'s milk", one.source, here,
            premises.local_date(one.lot.begun_at), here, f"milk intake {one.lot.code}",
        )  # fmt: skip

    ingredients = IngredientLot.objects.filter(
        lot__premises=premises, lot__begun_at__gte=start, lot__begun_at__lt=end
    ).select_related("lot", "supplier")
    for row in ingredients.order_by("lot__begun_at"):
        source = row.supplier.name if row.supplier else ""
        yield (
            row.supplier_lot or row.lot.code, row.amount_si, SI_UNIT[row.quantity],
            f"{row.get_kind_display()}, {row.name}", source, here, premises.local_date(row.lot.begun_at),
            source if row.supplier_lot else here, f"ingredient intake {row.lot.code}",
        )  # fmt: skip

    arrived = ArrivedLot.objects.filter(
        arrival__premises=premises, arrival__arrived_at__gte=start, arrival__arrived_at__lt=end, pieces__gt=0
    ).select_related("arrival__dispatch__premises")
    for came in arrived.order_by("arrival__arrived_at", "origin_code"):
        dispatch = came.arrival.dispatch
        source = location(dispatch.premises)
        yield (
            came.origin_code, came.weight_kg, "kg", came.cheese, source, here,
            premises.local_date(came.arrival.arrived_at), source,
            f"{dispatch.document_type} {dispatch.document_number}",
        )  # fmt: skip

    for (dispatch, at), pieces in returned_between(premises, start, end).items():
        weights: dict[Lot, float] = defaultdict(float)
        for piece in pieces:
            weights[piece.item.lot] += piece.weight_kg
        for lot, weight in weights.items():
            yield (
                lot.code, weight, "kg", f"{lot_words(lot)}, returned", recipient(dispatch), here,
                premises.local_date(at), here, f"{dispatch.document_type} {dispatch.document_number}",
            )  # fmt: skip


def _used(link: LotLink) -> tuple[Cell, Cell]:
    """How much of the parent went in; nothing is said of a brine, which is not used up."""
    return ("", "") if link.parent.kind == Lot.Kind.BRINE else (link.amount, link.unit)


def _transformed(premises: Premises, start: datetime, end: datetime) -> Iterable[tuple[Cell, ...]]:
    here = location(premises)
    batches = lots_begun(premises, Lot.Kind.BATCH, start, end)
    made = made_kg(batches)
    links: dict[UUID, list[LotLink]] = defaultdict(list)
    rows = LotLink.objects.filter(child__in=batches).select_related(
        "parent__product", "parent__milk", "parent__by_product", "parent__ingredient", "parent__brine__tank"
    )
    for link in rows.order_by("parent__code"):
        links[link.child_id].append(link)
    for batch in batches:
        quantity: Cell = made.get(batch.pk, "")
        for link in links[batch.pk]:
            yield (
                link.parent.code, lot_words(link.parent), *_used(link), batch.code, here,
                premises.local_date(batch.begun_at), lot_words(batch), quantity, "kg" if quantity != "" else "",
                f"make {batch.code}",
            )  # fmt: skip


def _shipped(premises: Premises, start: datetime, end: datetime) -> Iterable[tuple[Cell, ...]]:
    here = location(premises)
    for one in sent_between(premises, start, end):
        dispatch = one.dispatch
        yield (
            one.lot.code, one.weight_kg, "kg", lot_words(one.lot), recipient(dispatch), here,
            premises.local_date(dispatch.dispatched_at), here, f"{dispatch.document_type} {dispatch.document_number}",
        )  # fmt: skip


def sent_between(premises: Premises, start: datetime, end: datetime) -> list[Sent]:
    gone = Dispatch.objects.filter(premises=premises, dispatched_at__gte=start, dispatched_at__lt=end)
    lots = list(Lot.objects.filter(items__events__dispatch__in=gone).distinct().select_related("product", "arrived"))
    found = [one for one in sent_of(lots) if start <= one.dispatch.dispatched_at < end]
    return sorted(found, key=lambda one: (one.dispatch.dispatched_at, one.dispatch.number, one.lot.code))


def returned_between(
    premises: Premises, start: datetime, end: datetime
) -> dict[tuple[Dispatch, datetime], list[ItemEvent]]:
    """Pieces that came back, by the dispatch with which they had left and the moment at which they came. One query."""
    back = ItemEvent.objects.filter(
        kind=ItemEvent.Kind.RETURNED, item__lot__premises=premises, occurred_at__gte=start, occurred_at__lt=end
    ).select_related("item__lot__product", "item__lot__arrived", "item__parent")
    left = {
        event.item_id: event.dispatch
        for event in ItemEvent.objects.filter(
            kind=ItemEvent.Kind.DISPATCHED, item__in=[one.item.parent_id for one in back]
        ).select_related("dispatch__customer")
    }
    found: dict[tuple[Dispatch, datetime], list[ItemEvent]] = defaultdict(list)
    for one in back.order_by("occurred_at", "item__lot__code", "item__number"):
        dispatch = left.get(one.item.parent_id) if one.item.parent_id else None
        if dispatch is not None:
            found[dispatch, one.occurred_at].append(one)
    return dict(found)


def recipient(dispatch: Dispatch) -> str:
    customer = dispatch.customer
    parts = [customer.name, *customer.address.splitlines(), customer.phone or customer.email]
    return ", ".join(part.strip() for part in parts if part.strip())


def made_kg(batches: Iterable[Lot]) -> dict[UUID, float]:
    """Batch -> what came into stock of it."""
    found: dict[UUID, float] = defaultdict(float)
    pieces = Item.objects.filter(lot__in=list(batches), parent__isnull=True)
    for lot_id, weight in pieces.values_list("lot", "weight_kg"):
        found[lot_id] += weight
    return found
