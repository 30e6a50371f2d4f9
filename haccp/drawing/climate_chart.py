"""A room over days: readings within a band, and the checks that nobody did."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from haccp.drawing.chart import Band, Level, Mark, Series, Span, TimeChart, offsets_s
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import Picture, Shape
from haccp.drawing.roles import Role
from haccp.drawing.ticks import clock_time
from haccp.drawing.time_chart import time_chart
from haccp.drawing.wording import ENGLISH, Wording

MOST_MISSED_LABELS = 3


@dataclass(frozen=True, slots=True)
class ClimateChart:
    """from_at, to_at: the period shown (aware). times, values: readings in order, in `unit`.

    low, high: the limits of the room, either may be None. target_low, target_high: the band aimed at, within them.
    missed: when checks were due that nobody did. gaps: periods without a record. by_hand: readings taken one by
    one, each marked; False for a recorder's samples. longest_gap_s: silence that breaks the line.
    """

    title: str
    description: str
    unit: str
    zone: ZoneInfo
    from_at: datetime
    to_at: datetime
    times: Sequence[datetime]
    values: Sequence[float]
    low: float | None = None
    high: float | None = None
    target_low: float | None = None
    target_high: float | None = None
    missed: tuple[datetime, ...] = ()
    gaps: tuple[tuple[datetime, datetime], ...] = ()
    label: str = ""
    decimals: int = 1
    by_hand: bool = True
    longest_gap_s: float | None = None
    layout: Layout = WIDE
    wording: Wording = ENGLISH


def climate_chart(chart: ClimateChart) -> Picture:
    """Readings, the band they should stay in, its limits, and missed checks as hollow triangles on the time axis.

    Raises ValueError where there is neither a reading nor a limit: nothing says how the axis should run.
    """
    return time_chart(
        TimeChart(
            title=chart.title,
            description=chart.description,
            unit=chart.unit,
            origin=chart.from_at,
            zone=chart.zone,
            series=(_readings(chart),),
            levels=_levels(chart),
            bands=_bands(chart),
            marks=_missed(chart),
            spans=tuple(_gap(chart, from_at, to_at) for from_at, to_at in chart.gaps),
            window_s=(0.0, (chart.to_at - chart.from_at).total_seconds()),
            layout=chart.layout,
            wording=chart.wording,
        )
    )


def _readings(chart: ClimateChart) -> Series:
    """The readings, with a missing one wherever a check was missed or a gap begins: no line runs across those."""
    t_s = offsets_s(chart.times, chart.from_at)
    silent_s = offsets_s([*chart.missed, *(start for start, _ in chart.gaps)], chart.from_at)
    order = np.argsort(np.concatenate((t_s, silent_s)), kind="stable")
    values = np.concatenate((np.array(chart.values, dtype=np.float64), np.full(silent_s.size, np.nan)))
    return Series(
        chart.label,
        np.concatenate((t_s, silent_s))[order],
        values[order],
        shape=Shape.DISC if chart.by_hand else None,
        longest_gap_s=chart.longest_gap_s,
    )


def _levels(chart: ClimateChart) -> tuple[Level, ...]:
    wanted = [
        (chart.low, chart.wording.at_least, Role.LIMIT),
        (chart.high, chart.wording.at_most, Role.LIMIT),
        (chart.target_low, chart.wording.target, Role.TARGET),
        (chart.target_high, chart.wording.target, Role.TARGET),
    ]
    return tuple(
        Level(value, words.format(value=chart.wording.number(value, chart.decimals), unit=chart.unit), role)
        for value, words, role in wanted
        if value is not None
    )


def _gap(chart: ClimateChart, from_at: datetime, to_at: datetime) -> Span:
    from_s, to_s = offsets_s((from_at, to_at), chart.from_at).tolist()
    return Span(from_s, to_s, chart.wording.no_record, Role.GAP)


def _bands(chart: ClimateChart) -> tuple[Band, ...]:
    if chart.low is None or chart.high is None:
        return ()
    return (Band(chart.low, chart.high),)


def _missed(chart: ClimateChart) -> tuple[Mark, ...]:
    """Each labelled while they are few; many are counted in one label, beside the last."""
    few = len(chart.missed) <= MOST_MISSED_LABELS
    count = chart.wording.missed_many.format(count=len(chart.missed))
    marks = []
    for i, at in enumerate(chart.missed):
        local = at.astimezone(chart.zone)
        label = chart.wording.missed.format(date=chart.wording.short_date_of(local), time=clock_time(local))
        text = label if few else count if i == len(chart.missed) - 1 else ""
        marks.append(Mark((at - chart.from_at).total_seconds(), None, text, Role.MISSED, Shape.TRIANGLE, hollow=True))
    return tuple(marks)
