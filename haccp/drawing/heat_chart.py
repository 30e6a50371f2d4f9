"""A heat treatment: the recorder's trace against the temperature to reach and the time to hold it."""

from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

import numpy as np

from haccp.drawing.chart import Event, Level, Mark, Series, Span, TimeChart
from haccp.drawing.degrees import CELSIUS, Degrees
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import DASHED, SOLID, Picture, Shape
from haccp.drawing.roles import Role
from haccp.drawing.ticks import clock_time
from haccp.drawing.time_chart import time_chart
from haccp.drawing.wording import ENGLISH, Wording
from haccp.science.trace import FloatArray, Trace

# A recorder that misses a few samples has not stopped; silence longer than this is drawn as silence.
SAMPLES_OF_SILENCE = 5
CLOSE_UP_BELOW_C, CLOSE_UP_ABOVE_C = 1.5, 2.5
OTHER_ROLES = (Role.SERIES_3, Role.SERIES_4)


@dataclass(frozen=True, slots=True, eq=False)
class HeatChart:
    """roles: channel -> "product" | "air_space" | "other", as in science.evidence; "other" when it has none.

    limit_c: to be reached; target_c, air_space_limit_c: drawn when given. run_s: the hold, offsets in seconds of
    the trace. problems: spans of role GAP or PROBLEM, offsets likewise. events: offsets likewise.
    close_up: only the hold, on a scale on which tenths of a degree are seen; without a run it changes nothing.
    """

    title: str
    description: str
    trace: Trace
    roles: dict[str, str]
    limit_c: float
    zone: ZoneInfo
    run_s: tuple[float, float] | None = None
    problems: tuple[Span, ...] = ()
    events: tuple[Event, ...] = ()
    target_c: float | None = None
    air_space_limit_c: float | None = None
    close_up: bool = False
    names: dict[str, str] = field(default_factory=dict)
    degrees: Degrees = CELSIUS
    layout: Layout = WIDE
    wording: Wording = ENGLISH


def heat_chart(chart: HeatChart) -> Picture:
    """The trace with the limit, the run that counts, its lowest point, and what is wrong with it.

    Temperatures are read in °C and drawn in chart.degrees. Raises ValueError when no channel measures the product.
    """
    if "product" not in chart.roles.values():
        raise ValueError("No channel of this trace is said to measure the product; give one the role product.")
    window, value_range = _close_up(chart) if chart.close_up and chart.run_s else (None, None)
    return time_chart(
        TimeChart(
            title=chart.title,
            description=chart.description,
            unit=chart.degrees.unit,
            origin=chart.trace.started_at,
            zone=chart.zone,
            series=_series(chart),
            levels=_levels(chart),
            spans=_spans(chart),
            events=chart.events,
            marks=_lowest(chart),
            window_s=window,
            value_range=value_range,
            layout=chart.layout,
            wording=chart.wording,
        )
    )


def _series(chart: HeatChart) -> tuple[Series, ...]:
    t = chart.trace.t_s
    silence = SAMPLES_OF_SILENCE * float(np.median(np.diff(t))) if t.size > 1 else None
    others = iter(OTHER_ROLES * len(chart.trace.channels))
    series = []
    for channel, values in chart.trace.channels.items():
        measures = chart.roles.get(channel, "other")
        label = {"product": chart.wording.product, "air_space": chart.wording.air_space}.get(measures, channel)
        role = {"product": Role.SERIES_1, "air_space": Role.SERIES_2}.get(measures) or next(others)
        series.append(
            Series(
                label=chart.names.get(channel, label),
                t_s=t,
                values=chart.degrees.map(values),
                role=role,
                dash=SOLID if measures == "product" else DASHED,
                longest_gap_s=silence,
            )
        )
    return tuple(series)


def _levels(chart: HeatChart) -> tuple[Level, ...]:
    wanted = [(chart.limit_c, chart.wording.limit, Role.LIMIT)]
    if chart.air_space_limit_c is not None:
        wanted.append((chart.air_space_limit_c, chart.wording.air_space_limit, Role.LIMIT))
    if chart.target_c is not None:
        wanted.append((chart.target_c, chart.wording.target, Role.TARGET))
    return tuple(
        Level(
            chart.degrees.of(value_c),
            words.format(value=chart.wording.number(chart.degrees.of(value_c), 1), unit=chart.degrees.unit),
            role,
        )
        for value_c, words, role in wanted
    )


def _spans(chart: HeatChart) -> tuple[Span, ...]:
    if chart.run_s is None:
        return chart.problems
    duration = chart.wording.duration(chart.run_s[1] - chart.run_s[0])
    return (Span(*chart.run_s, chart.wording.hold.format(duration=duration)), *chart.problems)


def _in_run(chart: HeatChart) -> list[tuple[FloatArray, FloatArray]]:
    """Times and °C of every product channel within the run, samples without a value left out."""
    if chart.run_s is None:
        return []
    t = chart.trace.t_s
    within = (t >= chart.run_s[0]) & (t <= chart.run_s[1])
    found = []
    for channel, values in chart.trace.channels.items():
        kept = within & np.isfinite(values)
        if chart.roles.get(channel) == "product" and kept.any():
            found.append((t[kept], values[kept]))
    return found


def _lowest(chart: HeatChart) -> tuple[Mark, ...]:
    lows = [(float(v.min()), float(t[np.argmin(v)])) for t, v in _in_run(chart)]
    if not lows:
        return ()
    value_c, at_s = min(lows)
    shown = chart.degrees.of(value_c)
    label = chart.wording.lowest.format(
        value=chart.wording.number(shown, _decimals(shown, chart.degrees.of(chart.limit_c))),
        unit=chart.degrees.unit,
        time=clock_time(chart.trace.at(at_s).astimezone(chart.zone)),
    )
    return (Mark(at_s, shown, label, Role.SERIES_1, Shape.DISC, hollow=True),)


def _decimals(value: float, limit: float) -> int:
    """One, or as many as it takes for a value under its limit not to be rounded up to it."""
    return next((d for d in range(1, 4) if value >= limit or round(value, d) < limit), 4)


def _close_up(chart: HeatChart) -> tuple[tuple[float, float] | None, tuple[float, float] | None]:
    values = [v for _, v in _in_run(chart)]
    low_c, high_c = chart.limit_c, max(chart.limit_c, chart.air_space_limit_c or chart.limit_c)
    if chart.run_s is None or not values:
        return None, None
    aside = max(60.0, 0.06 * (chart.run_s[1] - chart.run_s[0]))
    window = (
        max(chart.run_s[0] - aside, float(chart.trace.t_s[0])),
        min(chart.run_s[1] + aside, float(chart.trace.t_s[-1])),
    )
    low = min(low_c, *(float(v.min()) for v in values)) - CLOSE_UP_BELOW_C
    high = max(high_c, *(float(v.max()) for v in values)) + CLOSE_UP_ABOVE_C
    return window, (chart.degrees.of(low), chart.degrees.of(high))
