"""The acidity of each make: readings of a lot that a limit by elapsed time watches."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from haccp.checks.doubts import doubtful
from haccp.checks.models import Reading, RulingRow
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.plan.models import CriticalLimit
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.science.evaluators import elapsed
from haccp.science.limit import Comparator
from haccp.science.units import from_si, quantity_of, show


@dataclass(frozen=True, slots=True)
class CurveLimit:
    statement: str
    elapsed_s: float
    value: float
    at_most: bool


@dataclass(frozen=True, slots=True)
class AcidityCurve:
    """points: (observed, value in unit), oldest first; left_out: (observed, value as shown) of instruments that could
    not be relied on, or were found out since. rulings: (ruling, reason) of the last reading, by limit."""

    lot: str
    product: str
    quantity: str
    unit: str
    since: str
    since_at: datetime
    points: tuple[tuple[datetime, float], ...]
    left_out: tuple[tuple[datetime, str], ...]
    limits: tuple[CurveLimit, ...]
    events: tuple[tuple[datetime, str], ...]
    rulings: tuple[tuple[str, str], ...]


class _Ruled(NamedTuple):
    """What a curve needs of a ruling: a season has tens of thousands."""

    record_id: UUID
    limit_id: UUID
    lot_id: UUID
    observed_at: datetime
    recorded_at: datetime
    id: UUID
    ruling: str
    reason: str


class _Point(NamedTuple):
    quantity: str
    at: datetime
    value_si: float
    counts: bool


def acidity_curves(scope: PackScope) -> tuple[AcidityCurve, ...]:
    """One curve for each lot, quantity and event that time counts from. Lots without that event have no curve.

    Plain values of all rulings and readings stand in memory, and no row as an object.
    """
    rulings = _rulings(scope)
    limits = {one.id: one for one in CriticalLimit.objects.filter(id__in={row.limit_id for row in rulings})}
    points = _points(list(dict.fromkeys(row.record_id for row in rulings)))
    by_curve: dict[tuple[UUID, str, str], list[_Ruled]] = defaultdict(list)
    for row in rulings:
        limit = limits[row.limit_id]
        by_curve[(row.lot_id, limit.quantity, limit.parameters["from_event"])].append(row)
    lots = _lots({lot_id for lot_id, _, _ in by_curve})
    events = _events(set(lots))
    curves = [_curve(key, rows, limits, points, lots[key[0]], events[key[0]]) for key, rows in by_curve.items()]
    return tuple(sorted((c for c in curves if c is not None), key=lambda c: (c.since_at, c.lot, c.quantity)))


def _rulings(scope: PackScope) -> list[_Ruled]:
    """In the order in which they were observed."""
    fields = ("record_id", "limit_id", "record__lot_id", "record__observed_at", "record__recorded_at", "id")
    found: list[_Ruled] = []
    for group in in_groups(scope.current_ids):
        rows = RulingRow.objects.filter(
            record__in=group, limit__evaluator=elapsed.EVALUATOR.name, record__lot__isnull=False
        )
        found += (_Ruled(*row) for row in rows.order_by().values_list(*fields, "ruling", "reason"))
    return sorted(found, key=lambda row: (row.observed_at, row.recorded_at, row.id))


def _points(record_ids: Sequence[UUID]) -> dict[UUID, list[_Point]]:
    """record -> its readings that have a value."""
    found: dict[UUID, list[_Point]] = defaultdict(list)
    for group in in_groups(record_ids):
        readings = Reading.objects.filter(record__in=group, value_si__isnull=False)
        doubts = doubtful(group)
        for record_id, quantity, at, value, unfit in readings.values_list(
            "record_id", "measure__quantity", "record__observed_at", "value_si", "record__instrument_unfit"
        ):
            if value is not None:
                found[record_id].append(_Point(quantity, at, value, not unfit and record_id not in doubts))
    return found


def _lots(lot_ids: set[UUID]) -> dict[UUID, tuple[str, str]]:
    """lot -> (code, name of its product or empty)."""
    found: dict[UUID, tuple[str, str]] = {}
    for group in in_groups([*lot_ids]):
        rows = Lot.objects.filter(id__in=group).values_list("id", "code", "product__name")
        found |= {one: (code, product or "") for one, code, product in rows}
    return found


def _events(lot_ids: set[UUID]) -> dict[UUID, list[LotEvent]]:
    events: dict[UUID, list[LotEvent]] = defaultdict(list)
    for group in in_groups([*lot_ids]):
        for event in LotEvent.objects.filter(lot__in=group).order_by("occurred_at", "recorded_at"):
            events[event.lot_id].append(event)
    return events


def _curve(
    key: tuple[UUID, str, str],
    rows: list[_Ruled],
    all_limits: dict[UUID, CriticalLimit],
    points: dict[UUID, list[_Point]],
    lot: tuple[str, str],
    events: list[LotEvent],
) -> AcidityCurve | None:
    _, quantity, from_event = key
    since_at = next((event.occurred_at for event in events if event.kind == from_event), None)
    if since_at is None:
        return None
    limits = [all_limits[one] for one in dict.fromkeys(row.limit_id for row in rows)]
    unit = limits[0].unit
    last = {row.limit_id: row for row in rows}
    records = dict.fromkeys(row.record_id for row in rows)
    mine = sorted(one for record_id in records for one in points.get(record_id, ()) if one.quantity == quantity)
    return AcidityCurve(
        lot=lot[0],
        product=lot[1],
        quantity=quantity_of(quantity).name,
        unit=unit or quantity_of(quantity).si_unit,
        since=str(EventKind(from_event).label) if from_event in EventKind.values else from_event,
        since_at=since_at,
        points=tuple((one.at, from_si(quantity, one.value_si, unit)) for one in mine if one.counts),
        left_out=tuple((one.at, show(quantity, one.value_si, unit)) for one in mine if not one.counts),
        limits=tuple(one for limit in limits for one in _limits(limit)),
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
