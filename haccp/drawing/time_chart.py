"""Values against time, with the limits they are judged by: what happened, and how near it came."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np

from haccp.drawing import ticks as time_axis
from haccp.drawing.boxes import ASCENT, DESCENT, Box, Flag, box_of, spread, stagger
from haccp.drawing.clip import clip
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import (
    DASHED,
    DOTTED,
    SOLID,
    Anchor,
    Dash,
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
from haccp.drawing.scale import Scale, padded, tick_decimals, value_ticks
from haccp.drawing.thin import thin, unbroken
from haccp.drawing.typeface import text_width, wrap
from haccp.drawing.vacancy import Vacancy
from haccp.drawing.wording import ENGLISH, Wording

EDGE = 4.0  # no ink nearer to the edge of the sheet
MARKER_RADIUS = 4.5
LINE_HEIGHT = 1.2


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
        if not any(np.isfinite(series.values).any() for series in self.series) and self.value_range is None:
            raise ValueError("A chart without a single value needs a value_range to draw its axis.")


@dataclass(frozen=True, slots=True)
class _SideLabel:
    """A label in the column at the right; y: where what it names ends."""

    y: float
    lines: tuple[str, ...]
    role: Role
    bold: bool


@dataclass(frozen=True, slots=True)
class _Frame:
    """The plot, and how times and values are found on it."""

    plot: Box
    x: Scale
    y: Scale
    height: float
    decimals: int
    value_ticks: tuple[float, ...]


def time_chart(chart: TimeChart) -> Picture:
    """The chart as a picture; taller than its layout where the labels need the room."""
    flags, lane = _lane(chart)
    frame = _frame(chart, lane)
    side = _side_labels(chart, frame)
    needed = sum(len(label.lines) for label in side) * chart.layout.size * LINE_HEIGHT
    short = needed - (frame.plot.bottom - frame.plot.top)
    if short > 0:
        chart = replace(chart, layout=replace(chart.layout, height=chart.layout.height + short))
        frame = _frame(chart, lane)
        side = _side_labels(chart, frame)
    lines = {id(series): _lines(series, frame) for series in chart.series}
    items: list[Item] = [
        *_background(chart, frame),
        *_value_axis(chart, frame),
        *_time_axis(chart, frame),
        *_limits(chart, frame),
        *_flags(chart, frame, flags),
    ]
    for series in chart.series:
        items += _drawn(series, frame, lines[id(series)])
    items += _marks(chart, frame)
    items += _column(chart, frame, side)
    items += _labels_in_plot(chart, frame, [piece for pieces in lines.values() for piece in pieces])
    return Picture(chart.layout.width, frame.height, chart.title, chart.description, tuple(items))


def _window(chart: TimeChart) -> tuple[float, float]:
    if chart.window_s is not None:
        return chart.window_s
    times = [float(t) for series in chart.series if series.t_s.size for t in (series.t_s[0], series.t_s[-1])]
    times += [t for span in chart.spans for t in (span.from_s, span.to_s)]
    times += [thing.at_s for thing in (*chart.events, *chart.marks)]
    low, high = min(times), max(times)
    for deadline in chart.deadlines:
        # A limit that nobody sees warns nobody: its zone takes a sixth of the chart at least.
        high = max(high, deadline.until_s or 0.0, deadline.at_s + (deadline.at_s - low) / 5)
    return (low, high) if high > low else (low - 1800, high + 1800)


def _value_range(chart: TimeChart) -> tuple[float, float]:
    if chart.value_range is not None:
        return chart.value_range
    known = [series.values[np.isfinite(series.values)] for series in chart.series]
    values = [float(v) for array in known if array.size for v in (array.min(), array.max())]
    values += [thing.value for thing in (*chart.levels, *chart.deadlines)]
    values += [v for band in chart.bands for v in (band.low, band.high)]
    return padded(min(values), max(values))


def _flag_texts(chart: TimeChart) -> list[tuple[float, str, bool]]:
    spans = [(span.from_s, span.label, True) for span in chart.spans if span.label]
    return spans + [(event.at_s, event.label, False) for event in chart.events]


def _lane(chart: TimeChart) -> tuple[list[Flag], float]:
    """Flags of spans and events, and the height of the lane above the plot that they need."""
    layout, texts = chart.layout, _flag_texts(chart)
    left, right = _plot_sides(chart)
    x = Scale(*_window(chart), left, right)
    widths = [text_width(text, layout.size, bold=bold) + 8 for _, text, bold in texts]
    flags = stagger([x(at) for at, _, _ in texts], widths, left, layout.width - EDGE, 6)
    rows = 1 + max((flag.row for flag in flags), default=0)
    return flags, rows * layout.size * 1.35 + 10


def _plot_sides(chart: TimeChart) -> tuple[float, float]:
    layout, size = chart.layout, chart.layout.size
    values = value_ticks(*_value_range(chart), 6)
    decimals = tick_decimals(values)
    widths = [text_width(chart.wording.number(v, decimals), size) for v in values]
    left = EDGE + 8 + max([*widths, text_width(chart.unit, size, bold=True)])
    texts = [(series.label, True) for series in chart.series if _ends_at_the_right(series, chart)]
    texts += [(level.label, False) for level in chart.levels]
    column = max(
        (text_width(line, size, bold=bold) for text, bold in texts for line in _column_lines(text, bold, layout)),
        default=0.0,
    )
    return left, layout.width - EDGE - (column + 16 if column else 14)


def _column_lines(text: str, bold: bool, layout: Layout) -> list[str]:
    return wrap(text, layout.size, layout.label_column, bold=bold) if text else []


def _ends_at_the_right(series: Series, chart: TimeChart) -> bool:
    low, high = _window(chart)
    known = series.t_s[np.isfinite(series.values)]
    return bool(known.size) and float(known[-1]) >= high - 0.06 * (high - low)


def _frame(chart: TimeChart, lane: float) -> _Frame:
    layout, size = chart.layout, chart.layout.size
    low, high = _value_range(chart)
    values = value_ticks(low, high, max(3, int((layout.height - lane) / (size * 3))))
    left, right = _plot_sides(chart)
    below = 6 + 2.7 * size + EDGE
    height = max(layout.height, lane + below + 10 * size)
    plot = Box(left, lane, right, height - below)
    return _Frame(
        plot,
        Scale(*_window(chart), plot.left, plot.right),
        Scale(low, high, plot.bottom, plot.top),
        height,
        tick_decimals(values),
        tuple(values),
    )


def _background(chart: TimeChart, frame: _Frame) -> list[Item]:
    plot = frame.plot
    items: list[Item] = [Rect(plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top, Role.PLOT)]
    for band in chart.bands:
        top, bottom = (min(max(frame.y(v), plot.top), plot.bottom) for v in (band.high, band.low))
        items.append(Rect(plot.left, top, plot.right - plot.left, bottom - top, Role.BAND))
    for span in chart.spans:
        left, right = _across(span.from_s, span.to_s, frame)
        hatch = span.role is not Role.HOLD
        items.append(Rect(left, plot.top, right - left, plot.bottom - plot.top, span.role, hatch=hatch))
    for deadline in chart.deadlines:
        left, right = _across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        top, bottom = (plot.top, y) if deadline.forbidden is Side.ABOVE else (y, plot.bottom)
        items.append(Rect(left, top, right - left, bottom - top, Role.FORBIDDEN, hatch=True))
    return items


def _across(from_s: float, to_s: float | None, frame: _Frame) -> tuple[float, float]:
    """Left and right of a stretch of time on the plot, at least two pixels apart so that it is seen."""
    plot = frame.plot
    left = min(max(frame.x(from_s), plot.left), plot.right - 2)
    right = plot.right if to_s is None else min(max(frame.x(to_s), left + 2), plot.right)
    return left, right


def _value_axis(chart: TimeChart, frame: _Frame) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    items: list[Item] = [
        Text(plot.left - 8, plot.top - 8, chart.unit, size, Role.LABEL, Anchor.END, bold=True),
    ]
    lowest_baseline = plot.top - 8 + (ASCENT + DESCENT) * size
    for value in frame.value_ticks:
        y = frame.y(value)
        items.append(Line(plot.left, y, plot.right, y, Role.GRID))
        baseline = y + 0.34 * size
        if baseline >= lowest_baseline:
            text = chart.wording.number(value, frame.decimals)
            items.append(Text(plot.left - 8, baseline, text, size, Role.MUTED, Anchor.END))
    return items


def _time_axis(chart: TimeChart, frame: _Frame) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    baseline = plot.bottom + 6 + size
    items: list[Item] = [Line(plot.left, plot.bottom, plot.right, plot.bottom, Role.AXIS)]
    marks = _time_ticks(chart, frame)
    items += [Line(frame.x(t.at_s), plot.bottom, frame.x(t.at_s), plot.bottom + 5, Role.AXIS) for t in marks]
    labels: list[Text] = []
    for tick in sorted(marks, key=lambda t: not t.major):
        label = _tick_label(tick, frame, chart, baseline)
        if not any(_wide(box_of(label)).overlaps(box_of(other)) for other in labels):
            labels.append(label)
    items += sorted(labels, key=lambda label: label.x)
    items.append(Text(plot.left, baseline + 1.35 * size, _caption(chart, frame), size, Role.MUTED))
    return items


def _wide(box: Box) -> Box:
    return Box(box.left - 6, box.top, box.right + 6, box.bottom)


def _tick_label(tick: time_axis.Tick, frame: _Frame, chart: TimeChart, baseline: float) -> Text:
    size = chart.layout.size
    half = text_width(tick.label, size, bold=tick.major) / 2
    x = min(max(frame.x(tick.at_s), EDGE + half), chart.layout.width - EDGE - half)
    return Text(x, baseline, tick.label, size, Role.LABEL if tick.major else Role.MUTED, Anchor.MIDDLE, tick.major)


def _time_ticks(chart: TimeChart, frame: _Frame) -> list[time_axis.Tick]:
    """As many as fit beside each other without leaving out a label."""
    low, high = frame.x.low, frame.x.high
    most = int((frame.plot.right - frame.plot.left) / (3.6 * chart.layout.size))
    for count in range(most, 1, -1):
        if chart.zone is None:
            ticks = time_axis.elapsed_ticks(low, high, count, chart.wording)
        else:
            ticks = time_axis.clock_ticks(chart.origin, low, high, chart.zone, count, chart.wording)
        boxes = [_wide(box_of(_tick_label(tick, frame, chart, 0))) for tick in ticks]
        if all(left.right <= right.left + 6 for left, right in zip(boxes, boxes[1:], strict=False)):
            break
    return ticks


def _caption(chart: TimeChart, frame: _Frame) -> str:
    low, high = frame.x.low, frame.x.high
    if chart.zone is not None:
        return time_axis.clock_caption(chart.origin, low, high, chart.zone, chart.wording)
    unit = time_axis.elapsed_unit_name(time_axis.elapsed_unit_s(low, high), chart.wording)
    return chart.wording.since.format(unit=unit, event=chart.since) if chart.since else unit


def _limits(chart: TimeChart, frame: _Frame) -> list[Item]:
    plot = frame.plot
    items: list[Item] = []
    for level in chart.levels:
        y = frame.y(level.value)
        if plot.top <= y <= plot.bottom:
            items.append(
                Line(plot.left, y, plot.right, y, level.role, DOTTED if level.role is Role.TARGET else SOLID)
            )
    for deadline in chart.deadlines:
        left, right = _across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        far = plot.top if deadline.forbidden is Side.ABOVE else plot.bottom
        items.append(Line(left, y, right, y, Role.LIMIT))
        items.append(Line(left, y, left, far, Role.LIMIT, DASHED))
        items.append(marker(Shape.DIAMOND, left, y, MARKER_RADIUS, Role.LIMIT))
    return items


def _flags(chart: TimeChart, frame: _Frame, flags: list[Flag]) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    items: list[Item] = []
    for span in chart.spans:
        left, right = _across(span.from_s, span.to_s, frame)
        items.append(Rect(left, plot.top - 3, right - left, 3, _span_edge(span.role)))
    roles = [_span_edge(span.role) for span in chart.spans if span.label] + [Role.EVENT] * len(chart.events)
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
    return staffs + words


def _span_edge(role: Role) -> Role:
    """A bar over a span is drawn in the ink that its label is written in."""
    return role


def _lines(series: Series, frame: _Frame) -> list[FloatArray]:
    """The series on the plot: unbroken pieces, each shape (n, 2), thinned to what the pixels can show."""
    if not series.joined:
        return []
    pieces: list[FloatArray] = []
    columns = max(1, int(frame.plot.right - frame.plot.left))
    inside = (series.t_s >= frame.x.low) & (series.t_s <= frame.x.high)
    edge = np.convolve(inside, [1, 1, 1], "same") > 0  # one sample beyond, so that lines reach the edge
    t, values = series.t_s[edge], series.values[edge]
    for part in unbroken(t, values, series.longest_gap_s):
        kept = thin(t[part], values[part], columns)
        points = np.column_stack((frame.x.map(t[part][kept]), frame.y.map(values[part][kept])))
        if len(points) > 1:
            pieces += clip(points, frame.plot)
    return pieces


def _drawn(series: Series, frame: _Frame, pieces: list[FloatArray]) -> list[Item]:
    items: list[Item] = [Polyline(piece, series.role, series.dash) for piece in pieces]
    for t, value in zip(series.t_s.tolist(), series.values.tolist(), strict=True):
        if series.shape is None:
            break
        if np.isfinite(value):
            items.append(marker(series.shape, frame.x(t), frame.y(value), MARKER_RADIUS, series.role))
    return items + _lonely(series, frame)


def _lonely(series: Series, frame: _Frame) -> list[Item]:
    """A sample with silence on both sides would vanish as a line of no length: it gets a dot."""
    if series.shape is not None or not series.joined:
        return []
    parts = unbroken(series.t_s, series.values, series.longest_gap_s)
    starts = [part.start for part in parts if part.stop - part.start == 1]
    return [
        marker(Shape.DISC, frame.x(float(series.t_s[i])), frame.y(float(series.values[i])), 2, series.role)
        for i in starts
    ]


def _mark_place(mark: Mark, frame: _Frame) -> tuple[float, float]:
    y = frame.plot.bottom - 2 * MARKER_RADIUS if mark.value is None else frame.y(mark.value)
    return frame.x(mark.at_s), y


def _marks(chart: TimeChart, frame: _Frame) -> list[Item]:
    return [
        marker(mark.shape, *_mark_place(mark, frame), MARKER_RADIUS + 0.5, mark.role, hollow=mark.hollow)
        for mark in chart.marks
    ]


def _side_labels(chart: TimeChart, frame: _Frame) -> list[_SideLabel]:
    labels = []
    for series in chart.series:
        if series.label and _ends_at_the_right(series, chart):
            shown = series.values[np.isfinite(series.values) & (series.t_s <= frame.x.high)]
            y = min(max(frame.y(float(shown[-1])), frame.plot.top), frame.plot.bottom)
            labels.append(_SideLabel(y, tuple(_column_lines(series.label, True, chart.layout)), series.role, True))
    for level in chart.levels:
        y = frame.y(level.value)
        if level.label and frame.plot.top <= y <= frame.plot.bottom:
            labels.append(_SideLabel(y, tuple(_column_lines(level.label, False, chart.layout)), level.role, False))
    return labels


def _column(chart: TimeChart, frame: _Frame, labels: list[_SideLabel]) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    row = size * LINE_HEIGHT
    centres = spread(
        [label.y for label in labels], [len(label.lines) * row for label in labels], plot.top, plot.bottom
    )
    items: list[Item] = []
    for label, centre in zip(labels, centres, strict=True):
        items.append(Line(plot.right + 2, label.y, plot.right + 11, centre, label.role))
        first = centre - len(label.lines) * row / 2 + (row + ASCENT * size - DESCENT * size) / 2
        for i, line in enumerate(label.lines):
            items.append(Text(plot.right + 14, first + i * row, line, size, label.role, bold=label.bold))
    return items


def _labels_in_plot(chart: TimeChart, frame: _Frame, lines: list[FloatArray]) -> list[Item]:
    """Labels of deadlines, of marks, and of series that end before the right edge, where there is room."""
    size = chart.layout.size
    vacancy = Vacancy(frame.plot, lines)
    for deadline in chart.deadlines:
        left, right = _across(deadline.at_s, deadline.until_s, frame)
        y = frame.y(deadline.value)
        vacancy.avoid_line(left, y, right, y)
        vacancy.avoid(Box(left - 6, y - 6, left + 6, y + 6))
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
    for series in chart.series:
        known = np.flatnonzero(np.isfinite(series.values))
        if series.label and known.size and not _ends_at_the_right(series, chart):
            x, y = frame.x(float(series.t_s[known[-1]])), frame.y(float(series.values[known[-1]]))
            items += vacancy.write(series.label, x, y, size, series.role, bold=True)
    return items
