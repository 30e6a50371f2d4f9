"""What was released, where it went, what was lost or came back, what arrived, and recalls."""

from typing import Any

from django.db.models import Prefetch, QuerySet

from batches.recall.models import Recall, RecallMark
from batches.release.models import Release
from batches.stock.models import Arrival, CounterSale, Dispatch, ItemEvent
from haccp.reports.gather.journal import Source, Told, in_period
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.traded import dispatches_in, marks_in, pieces_in, recalls_in, releases_in, sales_in


def _releases(scope: PackScope) -> QuerySet[Any]:
    """Of batches that the document has no part of their own for; theirs stand there."""
    return releases_in(scope).exclude(lot__in=scope.batch_ids).select_related("lot__product", "released_by")


def _release(one: Release, scope: PackScope) -> Told:
    name = one.lot.product.name if one.lot.product else ""
    return Told(one.released_at, "released", one.lot.code, name, one.released_by.name, one.lot_id)


def _dispatches(scope: PackScope) -> QuerySet[Any]:
    rows = dispatches_in(scope).select_related("customer", "recorded_by", "transfer__receiver")
    return rows.prefetch_related(Prefetch("events", queryset=ItemEvent.objects.select_related("item__lot")))


def _dispatch(one: Dispatch, scope: PackScope) -> Told:
    units = scope.period.units
    pieces: dict[str, list[float]] = {}
    for event in one.events.all():
        pieces.setdefault(event.item.lot.code, []).append(event.weight_kg)
    text = "; ".join(f"{len(kg)} of {code}, {units.show('mass', sum(kg))}" for code, kg in sorted(pieces.items()))
    transfer = getattr(one, "transfer", None)
    to = f" A move to {transfer.receiver.name}." if transfer else ""
    note = f" {one.note}" if one.note else ""
    words = f"{text}. {one.document_type} {one.document_number}.{to}{note}"
    return Told(one.dispatched_at, "dispatched", one.customer.name, words, one.recorded_by.name)


def _sales(scope: PackScope) -> QuerySet[Any]:
    return sales_in(scope).select_related("lot", "recorded_by")


def _sale(one: CounterSale, scope: PackScope) -> Told:
    beside = scope.period.units.beside("mass", one.weight_kg, one.typed_unit)
    text = f"{one.typed_weight} {one.typed_unit}{beside}, the total of {one.day.day} {one.day:%b}"
    return Told(one.recorded_at, "over the counter", one.lot.code, text, one.recorded_by.name, one.lot_id)


def _pieces(scope: PackScope) -> QuerySet[Any]:
    return pieces_in(scope).select_related("item__lot", "recorded_by")


def _piece(one: ItemEvent, scope: PackScope) -> Told:
    bad = one.kind in (ItemEvent.Kind.LOSS, ItemEvent.Kind.RETURNED)
    text = f"{scope.period.units.show('mass', one.weight_kg)}. {one.note}".strip()
    what = str(one.get_kind_display())
    return Told(one.occurred_at, what, str(one.item), text, one.recorded_by.name, one.item.lot_id, bad)


def _arrivals(scope: PackScope) -> QuerySet[Any]:
    rows = Arrival.objects.filter(premises=scope.period.premises_id)
    found = in_period(scope, rows, "arrived_at", "lots__lot").distinct()
    return found.select_related("dispatch__premises", "recorded_by").prefetch_related("lots__lot")


def _arrival(one: Arrival, scope: PackScope) -> Told:
    units = scope.period.units
    lots = sorted(one.lots.all(), key=lambda lot: lot.origin_code)
    parts = [
        f"{lot.pieces} of {lot.sent_pieces} of {lot.cheese} {lot.origin_code}, {units.show('mass', lot.weight_kg)}"
        for lot in lots
    ]
    text = ". ".join(filter(None, ("; ".join(parts), one.note)))
    bad = any(lot.missing_pieces for lot in lots)
    return Told(one.arrived_at, "arrived from", one.dispatch.premises.name, text, one.recorded_by.name, is_bad=bad)


def _recalls(scope: PackScope) -> QuerySet[Any]:
    return recalls_in(scope).select_related("started_by")


def _recall(one: Recall, scope: PackScope) -> Told:
    kind = str(one.get_kind_display())
    return Told(one.started_at, f"{kind} begun", "", one.reason, one.started_by.name, is_bad=one.kind == "real")


def _marks(scope: PackScope) -> QuerySet[Any]:
    return marks_in(scope).select_related("recall", "lot", "customer", "by")


def _mark(one: RecallMark, scope: PackScope) -> Told:
    kind = str(one.recall.get_kind_display())
    minutes = round((one.at - one.recall.started_at).total_seconds() / 60)
    what = {"chosen": "lot chosen", "reached": "customer reached", "note": "note", "finished": "finished"}[one.kind]
    about = one.lot.code if one.lot else one.customer.name if one.customer else ""
    parts = [f"after {minutes} min"]
    if one.reach:
        parts.append(str(one.get_reach_display()))
    if one.figures:
        parts.append(_figures(one.figures, scope))
    parts.append(one.note)
    return Told(one.at, f"{kind}: {what}", about, "; ".join(filter(None, parts)), one.by.name)


def _figures(figures: dict[str, Any], scope: PackScope) -> str:
    def kg(name: str) -> str:
        return scope.period.units.show("mass", float(figures.get(name, 0.0)))

    lots = len(figures.get("lots", []))
    return (
        f"{lots} lot{'' if lots == 1 else 's'}; {kg('made_kg')} made, {kg('dispatched_kg')} dispatched, "
        f"{kg('sold_at_counter_kg')} sold at the counter, {kg('in_house_kg')} in house, "
        f"{kg('unexplained_kg')} unexplained"
    )


TRADE = (
    Source("release", _releases, _release),
    Source("dispatch", _dispatches, _dispatch),
    Source("counter_sale", _sales, _sale),
    Source("item_event", _pieces, _piece),
    Source("arrival", _arrivals, _arrival),
    Source("recall", _recalls, _recall),
    Source("recall_mark", _marks, _mark),
)
