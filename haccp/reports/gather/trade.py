"""What was released, where it went, what was lost or came back, and recalls: each with its entry of the ledger."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from batches.recall.models import RecallMark
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.traded import dispatches_in, pieces_in, recalls_in, releases_in, sales_in
from haccp.science.units import show


@dataclass(frozen=True, slots=True)
class TradeLine:
    """at: a day's total has none but its day, and stands at its end. lot_id: where one batch alone is spoken of.

    ref: empty where the document shows the entry at the batch itself.
    """

    ref: str
    at: datetime
    what: str
    about: str
    lot_id: UUID | None
    text: str
    by: str


def trade_lines(scope: PackScope, evidence: Evidence) -> list[TradeLine]:
    """Oldest first, in a constant number of queries."""
    lines = [
        *_releases(scope, evidence),
        *_dispatches(scope, evidence),
        *_sales(scope, evidence),
        *_pieces(scope, evidence),
        *_recalls(scope, evidence),
    ]
    return sorted(lines, key=lambda line: (line.at, line.what, line.about))


def _releases(scope: PackScope, evidence: Evidence) -> Iterator[TradeLine]:
    for one in releases_in(scope).select_related("lot__product", "released_by"):
        ref = "" if one.lot_id in scope.batch_ids else evidence.ref(f"release:{one.id}")
        name = one.lot.product.name if one.lot.product else ""
        yield TradeLine(ref, one.released_at, "released", one.lot.code, one.lot_id, name, one.released_by.name)


def _dispatches(scope: PackScope, evidence: Evidence) -> Iterator[TradeLine]:
    rows = dispatches_in(scope).select_related("customer", "recorded_by").prefetch_related("events__item__lot")
    for one in rows:
        pieces: dict[str, list[float]] = {}
        for event in one.events.all():
            pieces.setdefault(event.item.lot.code, []).append(event.weight_kg)
        text = "; ".join(f"{len(kg)} of {code}, {show('mass', sum(kg))}" for code, kg in sorted(pieces.items()))
        yield TradeLine(
            ref=evidence.ref(f"dispatch:{one.id}"),
            at=one.dispatched_at,
            what="dispatched",
            about=one.customer.name,
            lot_id=None,
            text=f"{text}. {one.document_type} {one.document_number}" + (f". {one.note}" if one.note else ""),
            by=one.recorded_by.name,
        )


def _sales(scope: PackScope, evidence: Evidence) -> Iterator[TradeLine]:
    for one in sales_in(scope).select_related("lot", "recorded_by"):
        text = f"{one.typed_weight} {one.typed_unit}, the total of {one.day.day} {one.day:%b}"
        ref = evidence.ref(f"counter_sale:{one.id}")
        yield TradeLine(ref, one.recorded_at, "over the counter", one.lot.code, one.lot_id, text, one.recorded_by.name)


def _pieces(scope: PackScope, evidence: Evidence) -> Iterator[TradeLine]:
    for one in pieces_in(scope).select_related("item__lot", "recorded_by"):
        yield TradeLine(
            ref=evidence.ref(f"item_event:{one.id}"),
            at=one.occurred_at,
            what=str(one.get_kind_display()),
            about=str(one.item),
            lot_id=one.item.lot_id,
            text=f"{show('mass', one.weight_kg)}. {one.note}".strip(),
            by=one.recorded_by.name,
        )


def _recalls(scope: PackScope, evidence: Evidence) -> Iterator[TradeLine]:
    rows = recalls_in(scope).select_related("started_by").prefetch_related("marks__lot", "marks__by")
    for one in rows:
        ref, kind = evidence.ref(f"recall:{one.id}"), str(one.get_kind_display())
        yield TradeLine(ref, one.started_at, f"{kind} begun", "", None, one.reason, one.started_by.name)
        marks = list(one.marks.all())
        chosen = next((mark for mark in marks if mark.kind == RecallMark.Kind.CHOSEN), None)
        for mark in marks:
            if mark.kind == RecallMark.Kind.FINISHED and chosen is not None and chosen.lot is not None:
                reached = sum(other.kind == RecallMark.Kind.REACHED for other in marks)
                minutes = round((mark.at - one.started_at).total_seconds() / 60)
                yield TradeLine(
                    ref=evidence.ref(f"recall_mark:{mark.id}"),
                    at=mark.at,
                    what=f"{kind} finished",
                    about=chosen.lot.code,
                    lot_id=None,
                    text=f"{_figures(mark.figures)}; customers reached: {reached}; after {minutes} min. {mark.note}",
                    by=mark.by.name,
                )


def _figures(figures: dict[str, Any]) -> str:
    def kg(name: str) -> str:
        return show("mass", float(figures.get(name, 0.0)))

    lots = len(figures.get("lots", []))
    return (
        f"{lots} lot{'' if lots == 1 else 's'}; {kg('made_kg')} made, {kg('dispatched_kg')} dispatched, "
        f"{kg('sold_at_counter_kg')} sold at the counter, {kg('in_house_kg')} in house, "
        f"{kg('unexplained_kg')} unexplained"
    )
