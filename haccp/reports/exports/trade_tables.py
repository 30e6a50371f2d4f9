"""What is in stock and where it went: pieces, dispatches, customers, sales over the counter, arrivals, recalls."""

from collections.abc import Iterator

from batches.recall.models import RecallMark
from batches.stock.models import ArrivedLot, CounterSale, ItemEvent
from batches.stock.queries import customers_of, items_of, why_not_leave
from haccp.lots.models import LotLink
from haccp.premises.models import Premises
from haccp.reports.exports.table import Column, Days, Table, Value, columns

ROWS_PER_QUERY = 500
WORKED_OUT = "worked out from what was weighed and taken"
NOW = "as it stands when this is made, whatever the days"


def _stock(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """Every single piece that is here."""
    pieces = list(items_of(premises, only_here=True).select_related("lot__product", "parent__lot"))
    held = why_not_leave({one.lot_id for one in pieces})
    for one in pieces:
        yield (
            str(one),
            one.lot.code,
            one.lot.product.name if one.lot.product else "",
            str(one.get_kind_display()),
            str(one.parent) if one.parent else "",
            one.typed_weight,
            one.typed_unit,
            one.weight_kg,
            one.now_kg,
            one.place_name or "",
            one.entered_at,
            one.best_before,
            held.get(one.lot_id, ""),
        )


def _pieces(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """What happened to single wheels, cuts and packs."""
    found = ItemEvent.objects.filter(
        item__lot__premises=premises, occurred_at__gte=days.start, occurred_at__lt=days.end
    ).select_related("item__lot__product", "place", "dispatch__customer", "recorded_by")
    for one in found.order_by("occurred_at", "recorded_at", "id").iterator(chunk_size=ROWS_PER_QUERY):
        lot = one.item.lot
        yield (
            str(one.item),
            lot.code,
            lot.product.name if lot.product else "",
            one.occurred_at,
            str(one.get_kind_display()),
            one.weight_kg or None,
            one.place.name if one.place else "",
            f"{one.dispatch.document_type} {one.dispatch.document_number}" if one.dispatch else "",
            one.dispatch.customer.name if one.dispatch else "",
            "yes" if one.ends else "no",
            one.note,
            one.recorded_by.name,
        )


def _dispatches(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """One row for each piece that left: who got it, by which document."""
    found = ItemEvent.objects.filter(
        dispatch__premises=premises, dispatch__dispatched_at__gte=days.start, dispatch__dispatched_at__lt=days.end
    ).select_related("dispatch__customer", "dispatch__recorded_by", "item__lot__product")
    ordered = found.order_by("dispatch__dispatched_at", "dispatch__number", "item__lot__code", "item__number")
    for one in ordered.iterator(chunk_size=ROWS_PER_QUERY):
        dispatch, lot = one.dispatch, one.item.lot
        assert dispatch is not None
        yield (
            dispatch.number,
            dispatch.dispatched_at,
            dispatch.customer.name,
            dispatch.customer.gln,
            dispatch.document_type,
            dispatch.document_number,
            str(one.item),
            lot.code,
            lot.product.name if lot.product else "",
            one.weight_kg,
            one.item.best_before,
            dispatch.note,
            dispatch.recorded_by.name,
        )


def _customers(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    for one in customers_of(premises).order_by("name", "id"):
        yield (one.name, one.contact, one.phone, one.email, one.address, one.gln, one.retired_at)


def _counter(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = CounterSale.objects.filter(lot__premises=premises, day__gte=days.first, day__lte=days.last)
    for one in found.select_related("lot__product", "recorded_by").order_by("day", "lot__code", "id"):
        yield (
            one.day,
            one.lot.code,
            one.lot.product.name if one.lot.product else "",
            one.typed_weight,
            one.typed_unit,
            one.weight_kg,
            one.recorded_by.name,
        )


def _arrivals(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = ArrivedLot.objects.filter(
        arrival__premises=premises, arrival__arrived_at__gte=days.start, arrival__arrived_at__lt=days.end
    ).select_related("lot", "arrival__dispatch__premises", "arrival__recorded_by")
    for one in found.order_by("arrival__arrived_at", "origin_code"):
        yield (
            one.arrival.arrived_at,
            one.arrival.dispatch.premises.name,
            one.arrival.dispatch.document_number,
            one.cheese,
            one.origin_code,
            one.lot.code,
            one.sent_pieces,
            one.pieces,
            one.sent_kg,
            one.weight_kg,
            one.arrival.note,
            one.arrival.recorded_by.name,
        )


def _recalls(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """Every step of recalls and exercises begun in the days, with the customers reached."""
    found = RecallMark.objects.filter(
        recall__premises=premises, recall__started_at__gte=days.start, recall__started_at__lt=days.end
    ).select_related("recall", "lot", "customer", "by")
    for one in found.order_by("recall__started_at", "at", "id"):
        yield (
            str(one.recall.get_kind_display()),
            one.recall.started_at,
            one.recall.reason,
            one.at,
            one.elapsed.total_seconds() / 60,
            str(one.get_kind_display()),
            one.lot.code if one.lot else "",
            one.customer.name if one.customer else "",
            one.note,
            one.by.name,
        )


def _links(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """Every step from lot to lot, both ways round: what went into what, how much, when."""
    found = LotLink.objects.filter(
        child__premises=premises, child__begun_at__gte=days.start, child__begun_at__lt=days.end
    ).select_related("parent__product", "child__product")
    for one in found.order_by("child__begun_at", "child__code", "parent__code", "id").iterator(
        chunk_size=ROWS_PER_QUERY
    ):
        yield (
            one.parent.code,
            str(one.parent.get_kind_display()),
            one.parent.product.name if one.parent.product else "",
            one.parent.begun_at,
            one.amount,
            one.unit,
            one.child.code,
            str(one.child.get_kind_display()),
            one.child.product.name if one.child.product else "",
            one.child.begun_at,
            one.recorded_at,
        )


TRADE_TABLES = (
    Table(
        "stock",
        "Stock, piece by piece",
        (
            *columns("Piece", "Batch", "Product", "Kind", "Cut from", source=NOW),
            *columns("Weight as typed", "Unit as typed"),
            Column("Weight when it came into stock", "kg", "converted from what was typed"),
            Column("Weight now", "kg", WORKED_OUT),
            Column("Place", source="moved there last"),
            *columns("In stock since", "Best before"),
            Column("Why it may not leave", source=NOW),
        ),
        _stock,
    ),
    Table(
        "pieces",
        "What happened to single pieces",
        (
            *columns("Piece", "Batch", "Product", "Occurred", "What"),
            Column("Weight", "kg", "weighed now, taken, or what left"),
            *columns("Place", "Document", "Customer", "Left stock", "Note", "Recorded by"),
        ),
        _pieces,
    ),
    Table(
        "dispatches",
        "Dispatches, piece by piece",
        (
            *columns("Dispatch", "Dispatched", "Customer", "Customer's GLN", "Kind of document", "Document number"),
            *columns("Piece", "Batch", "Product"),
            Column("Weight", "kg", WORKED_OUT),
            *columns("Best before", "Note", "Recorded by"),
        ),
        _dispatches,
    ),
    Table(
        "customers",
        "Customers",
        columns("Customer", "Contact", "Phone", "E-mail", "Address", "GLN", "Retired"),
        _customers,
    ),
    Table(
        "counter",
        "Sales over the counter",
        (
            *columns("Day", "Batch", "Product", "Weight as typed", "Unit as typed"),
            Column("Weight", "kg", "converted from what was typed"),
            *columns("Recorded by"),
        ),
        _counter,
    ),
    Table(
        "arrivals",
        "Arrivals",
        (
            *columns("Arrived", "From", "Document number", "Cheese", "Batch there", "Batch here"),
            Column("Pieces sent", "pieces", "the dispatch"),
            Column("Pieces found", "pieces"),
            Column("Weight sent", "kg", "the dispatch"),
            Column("Weight found", "kg"),
            *columns("Note", "Recorded by"),
        ),
        _arrivals,
    ),
    Table(
        "links",
        "What went into what",
        (
            *columns("From lot", "Kind of it", "Product of it", "Begun (from)"),
            Column("Amount", source="converted from what was typed"),
            Column("Unit", source="SI"),
            *columns("Into lot", "Kind", "Product", "Begun", "Entered"),
        ),
        _links,
    ),
    Table(
        "recalls",
        "Recalls and exercises",
        (
            *columns("Kind", "Begun", "Reason", "At"),
            Column("Since the clock was started", "min", "the service's clock"),
            *columns("Step", "Lot", "Customer", "Note", "By"),
        ),
        _recalls,
    ),
)
