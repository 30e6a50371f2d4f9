"""Pictures of what a record holds: a heat treatment's trace against the limit that judged it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from django.utils.safestring import SafeString, mark_safe

from haccp.checks import trace_store
from haccp.checks.models import Record, RulingRow
from haccp.drawing.chart import Span
from haccp.drawing.degrees import CELSIUS, FAHRENHEIT, Degrees
from haccp.drawing.heat_chart import HeatChart, heat_chart
from haccp.drawing.layout import COMPACT
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.plan.models import CriticalLimit
from haccp.science.trace import Trace
from haccp.science.units import show

HOLDING = "holding"
MOST_ROWS = 24  # of the table beside the picture


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One moment of the trace; cells: a value per channel, in the order of HeatPicture.channels."""

    at: datetime
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HeatPicture:
    """A trace against one limit. close_up: the hold alone, "" when there is none. rows: the same in numbers."""

    title: str
    ruling: RulingRow
    svg: SafeString
    close_up: SafeString
    channels: tuple[str, ...]
    rows: tuple[HeatRow, ...]


def heat_pictures(record: Record, zone: ZoneInfo, temperature_unit: str = "°C") -> tuple[HeatPicture, ...]:
    """One for each limit by holding time that judged the record's trace. The record comes with its details."""
    if record.trace is None:
        return ()
    rulings = [row for row in record.rulings.all() if row.limit.evaluator == HOLDING]
    roles = {str(name): str(role) for name, role in record.trace_roles.items()}
    trace = trace_store.load(record.trace)
    if not rulings or not trace.t_s.size or "product" not in {roles.get(name) for name in trace.channels}:
        return ()
    channels = tuple(trace.channels)
    rows = tuple(_rows(trace, channels, temperature_unit))
    return tuple(_picture(record, row, trace, roles, zone, temperature_unit, channels, rows) for row in rulings)


def _picture(
    record: Record,
    row: RulingRow,
    trace: Trace,
    roles: dict[str, str],
    zone: ZoneInfo,
    unit: str,
    channels: tuple[str, ...],
    rows: tuple[HeatRow, ...],
) -> HeatPicture:
    about = f" of {record.lot.code}" if record.lot else ""
    chart = HeatChart(
        title=f"{record.check_done.name}{about}",
        description=f"Recorder trace against the limit “{row.limit.statement}”. {row.reason}",
        trace=trace,
        roles=roles,
        limit_c=row.limit.low or 0.0,
        zone=zone,
        run_s=_run(row.facts),
        problems=tuple(_flaws(row.facts)),
        air_space_limit_c=_air_space_limit(row.limit),
        degrees=_degrees(unit),
    )
    return HeatPicture(
        title=chart.title,
        ruling=row,
        svg=_svg(chart, f"heat-{row.pk}"),
        close_up=_svg(replace(chart, close_up=True), f"hold-{row.pk}") if chart.run_s else SafeString(""),
        channels=channels,
        rows=rows,
    )


def _svg(chart: HeatChart, id_prefix: str) -> SafeString:
    # Safe: the drawing room escapes every text that it writes.
    pair = to_svg_pair(heat_chart(chart), heat_chart(replace(chart, layout=COMPACT)), id_prefix=id_prefix)
    return mark_safe(pair)  # noqa: S308


def _run(facts: dict[str, Any]) -> tuple[float, float] | None:
    if "run_start_s" not in facts or facts["run_end_s"] <= facts["run_start_s"]:
        return None
    return float(facts["run_start_s"]), float(facts["run_end_s"])


def _flaws(facts: dict[str, Any]) -> Iterable[Span]:
    for flaw in facts.get("flaws", ()):
        role = Role.GAP if flaw["kind"] == "gap" else Role.PROBLEM
        yield Span(float(flaw["start_s"]), float(flaw["end_s"]), str(flaw["kind"]), role)


def _air_space_limit(limit: CriticalLimit) -> float | None:
    above = limit.parameters.get("air_space_above_c")
    return None if above is None or limit.low is None else limit.low + float(above)


def _degrees(unit: str) -> Degrees:
    return FAHRENHEIT if unit == FAHRENHEIT.unit else CELSIUS


def _rows(trace: Trace, channels: tuple[str, ...], unit: str) -> Iterable[HeatRow]:
    picked = np.unique(np.linspace(0, trace.t_s.size - 1, min(MOST_ROWS, trace.t_s.size)).round().astype(int))
    for i in picked.tolist():
        values = [float(trace.channels[name][i]) for name in channels]
        cells = tuple("no sample" if np.isnan(value) else show("temperature", value, unit) for value in values)
        yield HeatRow(trace.at(float(trace.t_s[i])), cells)
