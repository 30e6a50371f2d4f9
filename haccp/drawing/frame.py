"""The plot of a chart: its place on the sheet, and where times and values are found on it."""

from dataclasses import dataclass

import numpy as np

from haccp.drawing.boxes import Box
from haccp.drawing.chart import Series, TimeChart
from haccp.drawing.layout import Layout
from haccp.drawing.scale import Scale, padded, tick_decimals, value_ticks
from haccp.drawing.typeface import text_width, wrap

EDGE = 4.0  # no ink nearer to the edge of the sheet
ROOM_FOR_MARKS_WITHOUT_VALUE = 0.14


@dataclass(frozen=True, slots=True)
class Frame:
    """The plot, and how times and values are found on it."""

    plot: Box
    x: Scale
    y: Scale
    height: float
    decimals: int
    value_ticks: tuple[float, ...]


def frame_of(chart: TimeChart, lane: float) -> Frame:
    layout, size = chart.layout, chart.layout.size
    low, high = value_range(chart)
    values = _round_values(chart)
    left, right = plot_sides(chart)
    below = 6 + 2.7 * size + EDGE
    height = max(layout.height, lane + below + 10 * size)
    plot = Box(left, lane, right, height - below)
    return Frame(
        plot,
        Scale(*window(chart), plot.left, plot.right),
        Scale(low, high, plot.bottom, plot.top),
        height,
        tick_decimals(values),
        tuple(values),
    )


def window(chart: TimeChart) -> tuple[float, float]:
    if chart.window_s is not None:
        return chart.window_s
    times = [float(t) for series in chart.series if series.t_s.size for t in (series.t_s[0], series.t_s[-1])]
    times += [] if chart.zone else [0.0]
    times += [t for span in chart.spans for t in (span.from_s, span.to_s)]
    times += [event.at_s for event in chart.events] + [mark.at_s for mark in chart.marks]
    low, high = min(times), max(times)
    for deadline in chart.deadlines:
        # A limit that nobody sees warns nobody: its zone takes a sixth of the chart at least.
        high = max(high, deadline.until_s or 0.0, deadline.at_s + (deadline.at_s - low) / 5)
    return (low, high) if high > low else (low - 1800, high + 1800)


def value_range(chart: TimeChart) -> tuple[float, float]:
    if chart.value_range is not None:
        return chart.value_range
    # fmin and fmax pass over NaN without copying a year of samples
    ends = [fold(s.values) for s in chart.series if s.values.size for fold in (np.fmin.reduce, np.fmax.reduce)]
    values = [float(v) for v in ends if np.isfinite(v)]
    values += [level.value for level in chart.levels] + [deadline.value for deadline in chart.deadlines]
    values += [v for band in chart.bands for v in (band.low, band.high)]
    low, high = padded(min(values), max(values), 0.12 if chart.deadlines else 0.08)
    if any(mark.value is None for mark in chart.marks):
        low -= ROOM_FOR_MARKS_WITHOUT_VALUE * (high - low)
    return low, high


def _round_values(chart: TimeChart) -> list[float]:
    return value_ticks(*value_range(chart), max(3, int(0.75 * chart.layout.height / (2.4 * chart.layout.size))))


def plot_sides(chart: TimeChart) -> tuple[float, float]:
    layout, size = chart.layout, chart.layout.size
    values = _round_values(chart)
    decimals = tick_decimals(values)
    widths = [text_width(chart.wording.number(v, decimals), size) for v in values]
    left = EDGE + 8 + max([*widths, text_width(chart.unit, size, bold=True)])
    texts = [(series.label, True) for series in chart.series if ends_at_the_right(series, chart)]
    texts += [(level.label, False) for level in chart.levels]
    column = max(
        (text_width(line, size, bold=bold) for text, bold in texts for line in column_lines(text, bold, layout)),
        default=0.0,
    )
    return left, layout.width - EDGE - (column + 16 if column else 14)


def column_lines(text: str, bold: bool, layout: Layout) -> list[str]:
    return wrap(text, layout.size, layout.label_column, bold=bold) if text else []


def ends_at_the_right(series: Series, chart: TimeChart) -> bool:
    low, high = window(chart)
    known = np.flatnonzero(np.isfinite(series.values))
    if not known.size or float(series.t_s[known[-1]]) < high - 0.06 * (high - low):
        return False
    if float(series.t_s[known[-1]]) > high:
        there = float(np.interp(high, series.t_s[known], series.values[known]))
    else:
        there = float(series.values[known[-1]])
    bottom, top = value_range(chart)
    return bottom <= there <= top


def across(from_s: float, to_s: float | None, frame: Frame) -> tuple[float, float]:
    """Left and right of a stretch of time on the plot, at least two pixels apart so that it is seen."""
    plot = frame.plot
    left = min(max(frame.x(from_s), plot.left), plot.right - 2)
    right = plot.right if to_s is None else min(max(frame.x(to_s), left + 2), plot.right)
    return left, right
