"""The acidity of each make: readings of a lot that a limit by elapsed time watches."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import Reading, RulingRow
from haccp.lots.kinds import EventKind
from haccp.lots.models import LotEvent
from haccp.plan.models import CriticalLimit
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.science.evaluators import elapsed
from haccp.science.limit import Comparator
from haccp.science.units import from_si, quantity_of


@dataclass(frozen=True, slots=True)
class CurveLimit:
    statement: str
    elapsed_s: float
    value: float
    at_most: bool


@dataclass(frozen=True, slots=True)
class AcidityCurve:
    """points: (observed, value in unit), oldest first. rulings: (ruling, reason) of the last reading, by limit."""

    lot: str
    product: str
    quantity: str
    unit: str
    since: str
    since_at: datetime
    points: tuple[tuple[datetime, float], ...]
    limits: tuple[CurveLimit, ...]
    events: tuple[tuple[datetime, str], ...]
    rulings: tuple[tuple[str, str], ...]


def acidity_curves(scope: PackScope) -> tuple[AcidityCurve, ...]:
    """One curve for each lot, quantity and event that time counts from. Lots without that event have no curve."""
    rulings = _rulings(scope)
    readings: dict[tuple[UUID, str], list[Reading]] = defaultdict(list)
    for group in in_groups([row.record_id for row in rulings]):
        for reading in Reading.objects.filter(
            record__in=group, value_si__isnull=False, record__lot__isnull=False
        ).select_related("record", "measure"):
            readings[(reading.record_id, reading.measure.quantity)].append(reading)
    by_curve: dict[tuple[UUID, str, str], list[RulingRow]] = defaultdict(list)
    for row in rulings:
        assert row.record.lot_id is not None
        by_curve[(row.record.lot_id, row.limit.quantity, row.limit.parameters["from_event"])].append(row)
    events = _events({lot_id for lot_id, _, _ in by_curve})
    curves = [_curve(key, rows, readings, events[key[0]]) for key, rows in by_curve.items()]
    return tuple(sorted((c for c in curves if c is not None), key=lambda c: (c.since_at, c.lot, c.quantity)))


def _rulings(scope: PackScope) -> list[RulingRow]:
    found: dict[UUID, RulingRow] = {}
    for group in in_groups(scope.current_ids):
        rows = RulingRow.objects.filter(
            record__in=group, limit__evaluator=elapsed.EVALUATOR.name, record__lot__isnull=False
        ).select_related("record__lot__product", "limit")
        found |= {row.id: row for row in rows}
    return sorted(found.values(), key=lambda row: (row.record.observed_at, row.record.recorded_at, row.id))


def _events(lot_ids: set[UUID]) -> dict[UUID, list[LotEvent]]:
    events: dict[UUID, list[LotEvent]] = defaultdict(list)
    for group in in_groups([*lot_ids]):
        for event in LotEvent.objects.filter(lot__in=group).order_by("occurred_at", "recorded_at"):
            events[event.lot_id].append(event)
    return events


def _curve(
    key: tuple[UUID, str, str],
    rows: list[RulingRow],
    readings: dict[tuple[UUID, str], list[Reading]],
    events: list[LotEvent],
) -> AcidityCurve | None:
    _, quantity, from_event = key
    since_at = next((event.occurred_at for event in events if event.kind == from_event), None)
    if since_at is None:
        return None
    limits = {row.limit_id: row.limit for row in rows}
    unit = next(iter(limits.values())).unit
    mine = {reading.id: reading for row in rows for reading in readings[(row.record_id, quantity)]}
    points = sorted(
        (reading.record.observed_at, from_si(quantity, reading.value_si, unit))
        for reading in mine.values()
        if reading.value_si is not None
    )
    last = {row.limit_id: row for row in rows}
    lot = rows[0].record.lot
    assert lot is not None
    return AcidityCurve(
        lot=lot.code,
        product=lot.product.name if lot.product else "",
        quantity=quantity_of(quantity).name,
        unit=unit or quantity_of(quantity).si_unit,
        since=str(EventKind(from_event).label) if from_event in EventKind.values else from_event,
        since_at=since_at,
        points=tuple(points),
        limits=tuple(one for limit in limits.values() for one in _limits(limit)),
        events=tuple((event.occurred_at, _words(event.kind)) for event in events if event.occurred_at > since_at),
        rulings=tuple((row.ruling, row.reason) for row in last.values()),
    )


def _limits(limit: CriticalLimit) -> list[CurveLimit]:
    within_s = float(limit.parameters["within_s"])
    bounds = []
    if limit.high is not None and limit.comparator != Comparator.AT_LEAST:
        bounds.append((limit.high, True))
    if limit.low is not None and limit.comparator != Comparator.AT_MOST:
        bounds.append((limit.low, False))
    return [
        CurveLimit(limit.statement, within_s, from_si(limit.quantity, value, limit.unit), at_most)
        for value, at_most in bounds
    ]


def _words(kind: str) -> str:
    return str(EventKind(kind).label) if kind in EventKind.values else kind
