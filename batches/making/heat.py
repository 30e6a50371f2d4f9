"""The heat treatments of a batch: each recorder trace against the limit that judged it, as picture and as numbers."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.utils.safestring import SafeString

from haccp.checks import trace_store
from haccp.checks.models import Record, RulingRow
from haccp.checks.pictures import heat_picture
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
    """A trace against one limit. rows: the same in numbers, spread evenly over the recording."""

    title: str
    ruling: RulingRow
    svg: SafeString
    channels: tuple[str, ...]
    rows: tuple[HeatRow, ...]


def heat_pictures(record: Record, temperature_unit: str = "°C") -> tuple[HeatPicture, ...]:
    """One for each limit by holding time that judged the record's trace. The record comes with its details."""
    rulings = [row for row in record.rulings.all() if row.limit.evaluator == HOLDING]
    if record.trace is None or not rulings:
        return ()
    trace = trace_store.load(record.trace)
    channels = tuple(trace.channels)
    rows = tuple(_rows(trace, channels, temperature_unit))
    found = []
    for row in rulings:
        svg = heat_picture(
            record.trace,
            roles=record.trace_roles,
            limit=row.limit,
            reason=row.reason,
            facts=row.facts,
            temperature_unit=temperature_unit,
        )
        if svg is not None:
            found.append(HeatPicture(record.check_done.name, row, svg, channels, rows))
    return tuple(found)


def _rows(trace: Trace, channels: tuple[str, ...], unit: str) -> Iterable[HeatRow]:
    if not trace.t_s.size:
        return
    picked = np.unique(np.linspace(0, trace.t_s.size - 1, min(MOST_ROWS, trace.t_s.size)).round().astype(int))
    for i in picked.tolist():
        values = [float(trace.channels[name][i]) for name in channels]
        cells = tuple("no sample" if np.isnan(value) else show("temperature", value, unit) for value in values)
        yield HeatRow(trace.at(float(trace.t_s[i])), cells)
