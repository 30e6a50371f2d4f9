"""Values against time, with the limits they are judged by: what happened, and how near it came."""

from dataclasses import dataclass, replace

import numpy as np

from haccp.drawing.axes import time_axis, value_axis
from haccp.drawing.boxes import ASCENT, DESCENT, Box, Flag, spread, stagger
from haccp.drawing.chart import Mark, Series, Side, Span, TimeChart
from haccp.drawing.clip import clip
from haccp.drawing.frame import EDGE, Frame, across, column_lines, ends_at_the_right, frame_of, plot_sides, window
from haccp.drawing.picture import (
    DASHED,
    DOTTED,
    SOLID,
    FloatArray,
    Item,
    Line,
    Picture,
    Polyline,
    Rect,
    Shape,
    Text,
    marker,
)
from haccp.drawing.roles import Role
from haccp.drawing.scale import Scale
from haccp.drawing.thin import thin, unbroken
from haccp.drawing.typeface import text_width
from haccp.drawing.vacancy import Vacancy

MARKER_RADIUS = 4.5
LONELY_RADIUS = 2.0
LINE_HEIGHT = 1.2

DENSE = 8  # samples for each pixel


@dataclass(frozen=True, slots=True)
class _SideLabel:
    """A label in the column at the right; y: where what it names ends."""

    y: float
    lines: tuple[str, ...]
    role: Role
    bold: bool


def time_chart(chart: TimeChart) -> Picture:
    """The chart as a picture; taller than its layout where the labels need the room."""
    chart = _in_window(chart)
    flags, lane = _lane(chart)
    frame = frame_of(chart, lane)
    side = _side_labels(chart, frame)
    needed = sum(len(label.lines) for label in side) * chart.layout.size * LINE_HEIGHT
    short = needed - (frame.plot.bottom - frame.plot.top)
    if short > 0:
        chart = replace(chart, layout=replace(chart.layout, height=chart.layout.height + short))
        frame = frame_of(chart, lane)
        side = _side_labels(chart, frame)
    lines = [_lines(series, frame) for series in chart.series]
    items: list[Item] = [
        *_background(chart, frame),
        *value_axis(chart, frame),
        *time_axis(chart, frame),
        *_limits(chart, frame),
        *_flags(chart, frame, flags),
    ]
    for series, pieces in zip(chart.series, lines, strict=True):
        items += _drawn(series, frame, pieces)
    items += _marks(chart, frame)
    items += _column(chart, frame, side)
    items += _labels_in_plot(chart, frame, lines)
    return Picture(chart.layout.width, frame.height, chart.title, chart.description, tuple(items))


def _in_window(chart: TimeChart) -> TimeChart:
    """The chart without what happened before or after the stretch that it shows."""
    low, high = window(chart)
    return replace(
        chart,
        spans=tuple(span for span in chart.spans if span.to_s >= low and span.from_s <= high),
        events=tuple(event for event in chart.events if low <= event.at_s <= high),
        marks=tuple(mark for mark in chart.marks if low <= mark.at_s <= high),
        deadlines=tuple(deadline for deadline in chart.deadlines if low <= deadline.at_s <= high),
    )


def _flag_texts(chart: TimeChart) -> list[tuple[float, str, bool]]:
    spans = [(span.from_s, span.label, True) for span in chart.spans if span.label]
    return spans + [(event.at_s, event.label, False) for event in chart.events]


def _lane(chart: TimeChart) -> tuple[list[Flag], float]:
    """Flags of spans and events, and the height of the lane above the plot that they need."""
    layout, texts = chart.layout, _flag_texts(chart)
    left, right = plot_sides(chart)
    x = Scale(*window(chart), left, right)
    widths = [text_width(text, layout.size, bold=bold) + 8 for _, text, bold in texts]
    flags = stagger([x(at) for at, _, _ in texts], widths, left, layout.width - EDGE, 6)
    rows = 1 + max((flag.row for flag in flags), default=0)
    return flags, rows * layout.size * 1.35 + 10


def _background(chart: TimeChart, frame: Frame) -> list[Item]:
    plot = frame.plot
    items: list[Item] = [Rect(plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top, Role.PLOT)]
    for band in chart.bands:
        top, bottom = (min(max(frame.y(v), plot.top), plot.bottom) for v in (band.high, band.low))
        items.append(Rect(plot.left, top, plot.right - plot.left, bottom - top, Role.BAND))
    items += [_shade(span, frame) for span in chart.spans if span.role is Role.HOLD]
    for deadline in chart.deadlines:
        left, right = across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        top, bottom = (plot.top, y) if deadline.forbidden is Side.ABOVE else (y, plot.bottom)
        items.append(Rect(left, top, right - left, bottom - top, Role.FORBIDDEN, hatch=True))
    items += [_shade(span, frame) for span in chart.spans if span.role is not Role.HOLD]
    return items


def _shade(span: Span, frame: Frame) -> Rect:
    left, right = across(span.from_s, span.to_s, frame)
    plot = frame.plot
    return Rect(left, plot.top, right - left, plot.bottom - plot.top, span.role, hatch=span.role is not Role.HOLD)


def _limits(chart: TimeChart, frame: Frame) -> list[Item]:
    plot = frame.plot
    items: list[Item] = []
    for level in chart.levels:
        y = frame.y(level.value)
        if plot.top <= y <= plot.bottom:
            items.append(Line(plot.left, y, plot.right, y, level.role, DOTTED if level.role is Role.TARGET else SOLID))
    for deadline in chart.deadlines:
        left, right = across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        far = plot.top if deadline.forbidden is Side.ABOVE else plot.bottom
        items.append(Line(left, y, right, y, Role.LIMIT))
        items.append(Line(left, y, left, far, Role.LIMIT, DASHED))
        items.append(marker(Shape.DIAMOND, left, y, MARKER_RADIUS, Role.LIMIT))
    return items


def _flags(chart: TimeChart, frame: Frame, flags: list[Flag]) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    items: list[Item] = []
    for span in chart.spans:
        left, right = across(span.from_s, span.to_s, frame)
        items.append(Line(left, plot.top - 1, right, plot.top - 1, span.role))
    roles = [span.role for span in chart.spans if span.label] + [Role.EVENT] * len(chart.events)
    staffs: list[Item] = []
    words: list[Item] = []
    for (at, label, bold), flag, role in zip(_flag_texts(chart), flags, roles, strict=True):
        x = min(max(frame.x(at), plot.left), plot.right)
        baseline = plot.top - 8 - flag.row * 1.35 * size - DESCENT * size
        moved = flag.left < x - 0.5
        top = baseline + DESCENT * size + 1 if moved else baseline - ASCENT * size
        bottom = plot.top if bold else plot.bottom
        staffs.append(Line(x, top, x, bottom, role, SOLID if bold else DOTTED))
        words.append(Text(flag.left + 5, baseline, label, size, role, bold=bold, halo=True))
    return items + staffs + words


def _lines(series: Series, frame: Frame) -> list[FloatArray]:
    """The series on the plot: unbroken pieces, each shape (n, 2), thinned to what the pixels can show."""
    if not series.joined:
        return []
    pieces: list[FloatArray] = []
    columns = max(1, int(frame.plot.right - frame.plot.left))
    # One sample beyond the window on each side, so that lines reach its edge.
    first = max(int(np.searchsorted(series.t_s, frame.x.low)) - 1, 0)
    last = int(np.searchsorted(series.t_s, frame.x.high, side="right")) + 1
    t, values = series.t_s[first:last], series.values[first:last]
    if t.size > DENSE * columns:
        # A line is two pixels wide: of every two the first, last, lowest and highest are enough, and draw twice as fast
        columns = max(1, columns // 2)
    for part in unbroken(t, values, series.longest_gap_s):
        kept = thin(t[part], values[part], columns)
        points = np.column_stack((frame.x.map(t[part][kept]), frame.y.map(values[part][kept])))
        if len(points) > 1:
            pieces += clip(points, frame.plot)
    return pieces


def _drawn(series: Series, frame: Frame, pieces: list[FloatArray]) -> list[Item]:
    items: list[Item] = [Polyline(piece, series.role, series.dash) for piece in pieces]
    for t, value in zip(series.t_s.tolist(), series.values.tolist(), strict=True):
        if series.shape is None:
            break
        if _on_plot(t, value, frame):
            items.append(marker(series.shape, frame.x(t), frame.y(value), MARKER_RADIUS, series.role))
    return items + _lonely(series, frame)


def _on_plot(t: float, value: float, frame: Frame) -> bool:
    """False for a missing value too: NaN compares false."""
    return frame.x.low <= t <= frame.x.high and frame.y.low <= value <= frame.y.high


def _lonely(series: Series, frame: Frame) -> list[Item]:
    """A sample with silence on both sides would vanish as a line of no length: it gets a dot."""
    if series.shape is not None or not series.joined:
        return []
    parts = unbroken(series.t_s, series.values, series.longest_gap_s)
    alone = [part.start for part in parts if part.stop - part.start == 1]
    spots = [(float(series.t_s[i]), float(series.values[i])) for i in alone]
    return [
        marker(Shape.DISC, frame.x(t), frame.y(value), LONELY_RADIUS, series.role)
        for t, value in spots
        if _on_plot(t, value, frame)
    ]


def _mark_place(mark: Mark, frame: Frame) -> tuple[float, float]:
    y = frame.plot.bottom - 2 * MARKER_RADIUS if mark.value is None else frame.y(mark.value)
    return frame.x(mark.at_s), y


def _marks(chart: TimeChart, frame: Frame) -> list[Item]:
    return [
        marker(mark.shape, *_mark_place(mark, frame), MARKER_RADIUS + 0.5, mark.role, hollow=mark.hollow)
        for mark in chart.marks
    ]


def _side_labels(chart: TimeChart, frame: Frame) -> list[_SideLabel]:
    labels = []
    for series in chart.series:
        if series.label and ends_at_the_right(series, chart):
            known = np.isfinite(series.values)
            y = frame.y(float(np.interp(frame.x.high, series.t_s[known], series.values[known])))
            labels.append(_SideLabel(y, tuple(column_lines(series.label, True, chart.layout)), series.role, True))
    for level in chart.levels:
        y = frame.y(level.value)
        if level.label and frame.plot.top <= y <= frame.plot.bottom:
            labels.append(_SideLabel(y, tuple(column_lines(level.label, False, chart.layout)), level.role, False))
    return labels


def _column(chart: TimeChart, frame: Frame, labels: list[_SideLabel]) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    row = size * LINE_HEIGHT
    centres = spread([label.y for label in labels], [len(label.lines) * row for label in labels], plot.top, plot.bottom)
    items: list[Item] = []
    for label, centre in zip(labels, centres, strict=True):
        items.append(Line(plot.right + 2, label.y, plot.right + 11, centre, label.role))
        first = centre - len(label.lines) * row / 2 + (row + ASCENT * size - DESCENT * size) / 2
        for i, line in enumerate(label.lines):
            items.append(Text(plot.right + 14, first + i * row, line, size, label.role, bold=label.bold))
    return items


def _labels_in_plot(chart: TimeChart, frame: Frame, lines: list[list[FloatArray]]) -> list[Item]:
    """Labels of deadlines, of marks, and of series that end before the right edge, where there is room."""
    size = chart.layout.size
    vacancy = Vacancy(frame.plot, [piece for pieces in lines for piece in pieces])
    for deadline in chart.deadlines:
        left, right = across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        vacancy.avoid_line(left, y, right, y)
        vacancy.avoid_line(left, frame.plot.top, left, frame.plot.bottom)
        vacancy.avoid(Box(left - 6, y - 6, left + 6, y + 6))
    for event in chart.events:
        vacancy.avoid_line(frame.x(event.at_s), frame.plot.top, frame.x(event.at_s), frame.plot.bottom)
    for level in chart.levels:
        vacancy.avoid_line(frame.plot.left, frame.y(level.value), frame.plot.right, frame.y(level.value))
    for mark in chart.marks:
        x, y = _mark_place(mark, frame)
        vacancy.avoid(Box(x - 7, y - 7, x + 7, y + 7))
    items: list[Item] = []
    for deadline in chart.deadlines:
        above = deadline.forbidden is Side.ABOVE
        x, y = frame.x(deadline.at_s), frame.y(deadline.value)
        items += vacancy.write(deadline.label, x, y, size, Role.LIMIT, above_first=above)
    for mark in chart.marks:
        items += vacancy.write(mark.label, *_mark_place(mark, frame), size, mark.role)
    for series, pieces in zip(chart.series, lines, strict=True):
        if series.label and not ends_at_the_right(series, chart) and (spot := _spot(series, frame, pieces)):
            items += vacancy.write(series.label, *spot, size, series.role, bold=True)
    return items


def _spot(series: Series, frame: Frame, pieces: list[FloatArray]) -> tuple[float, float] | None:
    """Where a series can be named on the plot: at its last value, or on its longest piece if that left the plot."""
    known = np.flatnonzero(np.isfinite(series.values))
    if not known.size:
        return None
    x, y = frame.x(float(series.t_s[known[-1]])), frame.y(float(series.values[known[-1]]))
    if Box(x, y, x, y).inside(frame.plot):
        return x, y
    if not pieces:
        return None
    longest = max(pieces, key=len)
    spot = longest[int(0.75 * (len(longest) - 1))]
    return float(spot[0]), float(spot[1])
