"""The two axes of a chart: round values, round times, and what they are counted in."""

from dataclasses import replace
from itertools import pairwise

from haccp.drawing import ticks
from haccp.drawing.boxes import ASCENT, DESCENT, Box, box_of
from haccp.drawing.chart import TimeChart
from haccp.drawing.frame import EDGE, Frame
from haccp.drawing.picture import Anchor, Item, Line, Text
from haccp.drawing.roles import Role
from haccp.drawing.typeface import text_width


def value_axis(chart: TimeChart, frame: Frame) -> list[Item]:
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


def time_axis(chart: TimeChart, frame: Frame) -> list[Item]:
    plot, size = frame.plot, chart.layout.size
    baseline = plot.bottom + 6 + size
    items: list[Item] = [Line(plot.left, plot.bottom, plot.right, plot.bottom, Role.AXIS)]
    marks = _time_ticks(chart, frame)
    if all(tick.major for tick in marks):
        marks = [replace(tick, major=False) for tick in marks]
    items += [Line(frame.x(t.at_s), plot.bottom, frame.x(t.at_s), plot.bottom + 5, Role.AXIS) for t in marks]
    texts: list[Text] = []
    for tick in sorted(marks, key=lambda t: not t.major):
        text = _tick_label(tick, frame, chart, baseline)
        if not any(_wide(box_of(text)).overlaps(box_of(other)) for other in texts):
            texts.append(text)
    caption = Text(plot.left, baseline + 1.35 * size, _caption(chart, frame), size, Role.MUTED)
    return [*items, *sorted(texts, key=lambda label: label.x), caption]


def _wide(box: Box) -> Box:
    return Box(box.left - 6, box.top, box.right + 6, box.bottom)


def _tick_label(tick: ticks.Tick, frame: Frame, chart: TimeChart, baseline: float) -> Text:
    size = chart.layout.size
    half = text_width(tick.label, size, bold=tick.major) / 2
    x = min(max(frame.x(tick.at_s), EDGE + half), chart.layout.width - EDGE - half)
    return Text(x, baseline, tick.label, size, Role.LABEL if tick.major else Role.MUTED, Anchor.MIDDLE, tick.major)


def _time_ticks(chart: TimeChart, frame: Frame) -> list[ticks.Tick]:
    """As many as fit beside each other without leaving out a label."""
    low, high = frame.x.low, frame.x.high
    width = (frame.plot.right - frame.plot.left) / chart.layout.size
    most = int(width / 4.6) if chart.zone else min(int(width / 3), 10)
    for count in range(most, 1, -1):
        if chart.zone is None:
            found = ticks.elapsed_ticks(low, high, count, chart.wording)
        else:
            found = ticks.clock_ticks(chart.origin, low, high, chart.zone, count, chart.wording)
        boxes = [_wide(box_of(_tick_label(tick, frame, chart, 0))) for tick in found]
        if all(left.right <= right.left + 6 for left, right in pairwise(boxes)):
            break
    return found


def _caption(chart: TimeChart, frame: Frame) -> str:
    low, high = frame.x.low, frame.x.high
    if chart.zone is not None:
        return ticks.clock_caption(chart.origin, low, high, chart.zone, chart.wording)
    unit = ticks.elapsed_unit_name(ticks.elapsed_unit_s(low, high), chart.wording)
    return chart.wording.since.format(unit=unit, event=chart.since) if chart.since else unit
