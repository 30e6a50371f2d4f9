"""What a chart of values against time is made of: series, limits, spans, events; data only."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np

from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import SOLID, Dash, FloatArray, Shape
from haccp.drawing.roles import Role
from haccp.drawing.wording import ENGLISH, Wording


class Side(StrEnum):
    """Where a limit leaves no room: above an "at most", below an "at least"."""

    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """t_s: shape (n,), seconds after the chart's origin, increasing; values: shape (n,), NaN = no sample.

    shape: marks each value, for readings taken one by one. longest_gap_s: silence longer than this breaks the line.
    """

    label: str
    t_s: FloatArray
    values: FloatArray
    role: Role = Role.SERIES_1
    dash: Dash = SOLID
    shape: Shape | None = None
    joined: bool = True
    longest_gap_s: float | None = None


def offsets_s(times: Sequence[datetime], origin: datetime) -> FloatArray:
    """Aware datetimes as seconds after the origin, shape (n,)."""
    return np.array([(time - origin).total_seconds() for time in times], dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Level:
    """A limit or target that holds over the whole chart."""

    value: float
    label: str
    role: Role = Role.LIMIT


@dataclass(frozen=True, slots=True)
class Band:
    """The values that are allowed, drawn as a calm background."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Deadline:
    """A limit that speaks at a moment: from at_s (to until_s) the values on one side are forbidden."""

    at_s: float
    value: float
    label: str
    forbidden: Side
    until_s: float | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time: role HOLD (a run that counts), GAP (no record) or PROBLEM; the last two are hatched."""

    from_s: float
    to_s: float
    label: str
    role: Role = Role.HOLD


@dataclass(frozen=True, slots=True)
class Event:
    at_s: float
    label: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One point worth pointing at. value None: no value was taken; the mark stands on the time axis."""

    at_s: float
    value: float | None
    label: str
    role: Role = Role.SERIES_1
    shape: Shape = Shape.DISC
    hollow: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class TimeChart:
    """origin: aware datetime of offset 0. zone: the time zone of the axis; None draws elapsed time.

    since: the event that elapsed time counts from ("starter"). unit: of the values, drawn above their axis.
    window_s, value_range: what part to show; the whole when None.
    """

    title: str
    description: str
    unit: str
    origin: datetime
    series: tuple[Series, ...]
    zone: ZoneInfo | None = None
    since: str = ""
    levels: tuple[Level, ...] = ()
    bands: tuple[Band, ...] = ()
    deadlines: tuple[Deadline, ...] = ()
    spans: tuple[Span, ...] = ()
    events: tuple[Event, ...] = ()
    marks: tuple[Mark, ...] = ()
    window_s: tuple[float, float] | None = None
    value_range: tuple[float, float] | None = None
    layout: Layout = WIDE
    wording: Wording = ENGLISH

    def __post_init__(self) -> None:
        if self.origin.tzinfo is None:
            raise ValueError("A chart's origin is an aware time; give it a time zone.")
        measured = any(np.isfinite(series.values).any() for series in self.series)
        if not (measured or self.levels or self.deadlines or self.bands or self.value_range):
            raise ValueError("A chart without a value or a limit needs a value_range to draw its axis.")
