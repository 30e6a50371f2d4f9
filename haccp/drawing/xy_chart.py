"""One number against another: a curve with the levels that it is read by."""

from dataclasses import dataclass

import numpy as np

from haccp.drawing.boxes import ASCENT, DESCENT, Box, box_of, spread
from haccp.drawing.clip import clip
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import (
    DASHED,
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
from haccp.drawing.scale import Scale, tick_decimals, value_ticks
from haccp.drawing.typeface import text_width, wrap
from haccp.drawing.wording import ENGLISH, Wording

EDGE = 4.0
RADIUS = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """x, y: shape (n,). shape: marks each point; joined: a line from one to the next."""

    label: str
    x: FloatArray
    y: FloatArray
    role: Role = Role.SERIES_1
    dash: Dash = SOLID
    shape: Shape | None = None
    joined: bool = True


@dataclass(frozen=True, slots=True)
class Upright:
    """A value of x worth a line across the chart."""

    x: float
    label: str
    role: Role = Role.LIMIT


@dataclass(frozen=True, slots=True)
class Level:
    y: float
    label: str
    role: Role = Role.LIMIT
    dash: Dash = SOLID


@dataclass(frozen=True, slots=True, eq=False)
class XYChart:
    """x_name, y_name: what the axes show, with their units. x_range, y_range: what part to show. x_counts: x
    is a number of things, and has whole marks only."""

    title: str
    description: str
    x_name: str
    y_name: str
    curves: tuple[Curve, ...]
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    uprights: tuple[Upright, ...] = ()
    levels: tuple[Level, ...] = ()
    x_counts: bool = False
    layout: Layout = WIDE
    wording: Wording = ENGLISH

    def __post_init__(self) -> None:
        if not (self.x_range[0] < self.x_range[1] and self.y_range[0] < self.y_range[1]):
            raise ValueError("The ranges of a chart run from less to more.")


def xy_chart(chart: XYChart) -> Picture:
    """The curves over their axes; levels and uprights are named where they meet the edge of the plot."""
    layout, size = chart.layout, chart.layout.size
    y_ticks = value_ticks(*chart.y_range, max(3, int(layout.height / (3.2 * size))))
    decimals = tick_decimals(y_ticks)
    left = EDGE + 8 + max(text_width(chart.wording.number(v, decimals), size) for v in y_ticks)
    names = [level.label for level in chart.levels if level.label]
    lines = [line for name in names for line in wrap(name, size, layout.label_column)]
    column = max((text_width(line, size) for line in lines), default=0)
    flags = _flag_rows(chart)
    top = EDGE + 2.2 * size + flags * 1.35 * size
    plot = Box(left, top, layout.width - EDGE - (column + 14 if column else 14), layout.height - 6 - 3.2 * size)
    x = Scale(*chart.x_range, plot.left, plot.right)
    y = Scale(*chart.y_range, plot.bottom, plot.top)
    items: list[Item] = [Text(EDGE, EDGE + ASCENT * size, chart.y_name, size, Role.LABEL, bold=True)]
    items.append(Rect(plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top, Role.PLOT))
    for value in y_ticks:
        at = y(value)
        items.append(Line(plot.left, at, plot.right, at, Role.GRID))
        text = chart.wording.number(value, decimals)
        items.append(Text(plot.left - 8, at + 0.34 * size, text, size, Role.MUTED, Anchor.END))
    items += _x_axis(chart, plot, x)
    items += _uprights(chart, plot, x)
    items += _levels(chart, plot, y)
    for curve in chart.curves:
        items += _curve(curve, plot, x, y)
    items += _names(chart, plot, y)
    return Picture(layout.width, layout.height, chart.title, chart.description, tuple(items))


def _flag_rows(chart: XYChart) -> int:
    return sum(bool(one.label) for one in chart.uprights)


def _x_axis(chart: XYChart, plot: Box, x: Scale) -> list[Item]:
    size = chart.layout.size
    ticks = value_ticks(*chart.x_range, max(3, int((plot.right - plot.left) / (5 * size))))
    if chart.x_counts:
        ticks = [value for value in ticks if value == int(value)]
    decimals = tick_decimals(ticks)
    items: list[Item] = [Line(plot.left, plot.bottom, plot.right, plot.bottom, Role.AXIS)]
    taken: list[Box] = []
    for value in ticks:
        at = x(value)
        items.append(Line(at, plot.bottom, at, plot.bottom + 5, Role.AXIS))
        label = chart.wording.number(value, decimals)
        half = text_width(label, size) / 2
        centre = min(max(at, EDGE + half), chart.layout.width - EDGE - half)
        text = Text(centre, plot.bottom + 6 + size, label, size, Role.MUTED, Anchor.MIDDLE)
        if not any(box_of(text).overlaps(other) for other in taken):
            taken.append(box_of(text))
            items.append(text)
    items.append(Text(plot.left, plot.bottom + 6 + 2.35 * size, chart.x_name, size, Role.MUTED))
    return items


def _uprights(chart: XYChart, plot: Box, x: Scale) -> list[Item]:
    """Each named on a row of its own above the plot."""
    size = chart.layout.size
    items: list[Item] = []
    row = 0
    for one in chart.uprights:
        at = x(one.x)
        if not plot.left <= at <= plot.right:
            continue
        baseline = EDGE + 2.2 * size + (row + ASCENT) * 1.35 * size
        items.append(Line(at, baseline - 0.3 * size if one.label else plot.top, at, plot.bottom, one.role, DASHED))
        if one.label:
            width = text_width(one.label, size)
            right = at + 6 + width <= chart.layout.width - EDGE
            items.append(
                Text(at + 6 if right else at - 6, baseline, one.label, size, one.role,
                     Anchor.START if right else Anchor.END, halo=True)
            )  # fmt: skip
            row += 1
    return items


def _levels(chart: XYChart, plot: Box, y: Scale) -> list[Item]:
    items: list[Item] = []
    for level in chart.levels:
        at = y(level.y)
        if not plot.top - 1 <= at <= plot.bottom + 1:
            continue
        items.append(Line(plot.left, at, plot.right, at, level.role, level.dash))
    return items


def _names(chart: XYChart, plot: Box, y: Scale) -> list[Item]:
    """Names of levels at the right, kept apart."""
    size = chart.layout.size
    wanted = [level for level in chart.levels if level.label and plot.top - 1 <= y(level.y) <= plot.bottom + 1]
    lines = [wrap(level.label, size, chart.layout.label_column) for level in wanted]
    heights = [len(one) * 1.2 * size for one in lines]
    centres = spread([y(level.y) for level in wanted], heights, EDGE, plot.bottom + size)
    items: list[Item] = []
    for level, words, height, centre in zip(wanted, lines, heights, centres, strict=True):
        for i, line in enumerate(words):
            baseline = centre - height / 2 + (i + 0.5) * 1.2 * size + (ASCENT - DESCENT) / 2 * size
            items.append(Text(plot.right + 8, baseline, line, size, level.role))
    return items


def _curve(curve: Curve, plot: Box, x: Scale, y: Scale) -> list[Item]:
    known = np.isfinite(curve.x) & np.isfinite(curve.y)
    points = np.column_stack([x.map(curve.x[known]), y.map(curve.y[known])])
    items: list[Item] = []
    if curve.joined and points.shape[0] > 1:
        items += [Polyline(piece, curve.role, curve.dash) for piece in clip(points, plot)]
    if curve.shape is not None:
        inside = [(a, b) for a, b in points.tolist() if plot.left <= a <= plot.right and plot.top <= b <= plot.bottom]
        items += [marker(curve.shape, a, b, RADIUS, curve.role) for a, b in inside]
    return items
