"""The make of a batch as a line in time: what was done, and when."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from haccp.drawing.boxes import ASCENT, DESCENT, Box, box_of, spread
from haccp.drawing.layout import COMPACT, WIDE
from haccp.drawing.picture import Anchor, Item, Line, Picture, Polyline, Shape, Text, marker, points
from haccp.drawing.roles import Role
from haccp.drawing.scale import Scale
from haccp.drawing.ticks import clock_caption, clock_ticks, clock_time
from haccp.drawing.typeface import text_width, wrap
from haccp.drawing.wording import ENGLISH, Wording

EDGE = 6.0
RADIUS = 5.0
GAP = 12.0
LEADER = 44.0
LINE_HEIGHT = 1.25


@dataclass(frozen=True, slots=True)
class Step:
    """One event of the make. note: what was measured ("32.0 °C, 250 L"). role: PROBLEM if it went wrong."""

    at: datetime
    label: str
    note: str = ""
    role: Role = Role.SERIES_1


@dataclass(frozen=True, slots=True)
class Timeline:
    """steps: at least one, aware times, any order. zone: that of the premises."""

    title: str
    description: str
    steps: tuple[Step, ...]
    zone: ZoneInfo
    width: float = 0.0
    size: float = 0.0
    wording: Wording = ENGLISH

    def __post_init__(self) -> None:
        if not self.steps:
            raise ValueError("A timeline needs at least one step.")
        if any(step.at.tzinfo is None for step in self.steps):
            raise ValueError("The steps of a timeline have aware times; give them a time zone.")

    def in_order(self) -> list[Step]:
        return sorted(self.steps, key=lambda step: step.at)


@dataclass(frozen=True, slots=True)
class _Block:
    """The words of one step, wrapped; at: where the step stands on the axis."""

    step: Step
    at: float
    lines: tuple[tuple[str, bool], ...]
    width: float


def timeline(line: Timeline) -> Picture:
    """Horizontal, to scale in time; words stand above and below in turn, with leaders to their moments.

    Where there are too many steps for two rows of words, the picture is that of vertical_timeline at this width.
    """
    width, size = line.width or WIDE.width, line.size or WIDE.size
    steps = line.in_order()
    origin = steps[0].at.astimezone(UTC)
    last_s = (steps[-1].at - origin).total_seconds()
    x = Scale(0.0, max(last_s, 1.0), 4 * EDGE, width - 4 * EDGE)
    blocks = _blocks(line, [x((step.at - origin).total_seconds()) for step in steps], width, size)
    above, below = blocks[0::2], blocks[1::2]
    if any(sum(block.width for block in row) > width - 2 * EDGE for row in (above, below)):
        return vertical_timeline(replace(line, width=width, size=size))
    lead = LINE_HEIGHT * size
    axis = EDGE + lead * max(len(block.lines) for block in above) + LEADER
    under = axis + LEADER + 0.6 * lead
    ends = under + lead * max((len(block.lines) for block in below), default=0)
    items: list[Item] = [Line(EDGE, axis, width - EDGE, axis, Role.AXIS)]
    items += _row(above, width, size, axis, axis - LEADER)
    items += _row(below, width, size, axis, under)
    items += _clock(line, origin, x, axis, [block.at for block in below], size)
    items += [_dot(block.step, block.at, axis) for block in blocks]
    caption = clock_caption(origin, 0.0, last_s, line.zone, line.wording)
    items.append(Text(EDGE, ends + 1.4 * size, caption, size, Role.MUTED))
    return Picture(width, ends + 1.4 * size + EDGE, line.title, line.description, tuple(items))


def _blocks(line: Timeline, at: list[float], width: float, size: float) -> list[_Block]:
    steps = line.in_order()
    room = (width - 2 * EDGE) / ((len(steps) + 1) // 2) - GAP
    blocks = []
    for step, place in zip(steps, at, strict=True):
        clock = clock_time(step.at.astimezone(line.zone))
        words = [(text, True) for text in wrap(step.label, size, room, bold=True)]
        words += [(text, False) for text in wrap(f"{clock} · {step.note}" if step.note else clock, size, room)]
        needed = GAP + max(text_width(text, size, bold=bold) for text, bold in words)
        blocks.append(_Block(step, place, tuple(words), needed))
    return blocks


def _row(blocks: list[_Block], width: float, size: float, axis: float, edge: float) -> list[Item]:
    """One row of words; edge: their lower edge above the axis, their upper edge below it."""
    lead = LINE_HEIGHT * size
    centres = spread([block.at for block in blocks], [block.width for block in blocks], EDGE, width - EDGE)
    leaders: list[Item] = []
    words: list[Item] = []
    for block, centre in zip(blocks, centres, strict=True):
        top = edge - lead * len(block.lines) if edge < axis else edge
        knee = axis + (edge - axis) * (0.3 if edge < axis else 0.62)
        bend = points([(block.at, axis), (block.at, knee), (centre, edge + (3 if edge < axis else -3))])
        leaders.append(Polyline(bend, Role.EVENT))
        for i, (text, bold) in enumerate(block.lines):
            ink = _ink(block.step) if bold else Role.MUTED
            baseline = top + (i + ASCENT) * lead
            words.append(Text(centre, baseline, text, size, ink, Anchor.MIDDLE, bold))
    return leaders + words


def _ink(step: Step) -> Role:
    return Role.PROBLEM if step.role is Role.PROBLEM else Role.LABEL


def _dot(step: Step, x: float, y: float) -> Item:
    if step.role is Role.PROBLEM:
        return marker(Shape.DIAMOND, x, y, RADIUS + 1, step.role, hollow=True)
    return marker(Shape.DISC, x, y, RADIUS, step.role)


def _clock(line: Timeline, origin: datetime, x: Scale, axis: float, leaders: list[float], size: float) -> list[Item]:
    """Ticks of the clock, labelled where neither a leader nor another label stands in the way."""
    items: list[Item] = []
    taken = [Box(at - 4, axis, at + 4, axis + LEADER) for at in leaders]
    for tick in clock_ticks(origin, x.low, x.high, line.zone, int((x.end - x.start) / (5 * size)), line.wording):
        place = x(tick.at_s)
        text = Text(place, axis + 8 + ASCENT * size, tick.label, size, Role.MUTED, Anchor.MIDDLE, tick.major)
        items.append(Line(place, axis, place, axis + 6, Role.AXIS))
        sheet = Box(EDGE, 0, x.end + 3 * EDGE, axis + LEADER)
        if box_of(text).inside(sheet) and not any(box_of(text).overlaps(other) for other in taken):
            taken.append(box_of(text))
            items.append(text)
    return items


def vertical_timeline(line: Timeline) -> Picture:
    """For a phone: one step under another in order of time, with the time that passed between them."""
    width, size = line.width or COMPACT.width, line.size or COMPACT.size
    steps = line.in_order()
    clock_room = max(text_width(clock_time(step.at.astimezone(line.zone)), size, bold=True) for step in steps)
    rail = EDGE + clock_room + 12
    left = rail + 14
    lead = 1.3 * size
    y = EDGE + size
    items: list[Item] = []
    texts: list[Item] = []
    dots: list[Item] = []
    previous: datetime | None = None
    for step in steps:
        local = step.at.astimezone(line.zone)
        if previous is not None:
            passed = (step.at - previous).total_seconds()
            texts.append(Text(left, y, f"+ {line.wording.duration(passed)}", size, Role.MUTED))
            y += 1.6 * size
        if previous is None or previous.astimezone(line.zone).date() != local.date():
            texts.append(Text(left, y, line.wording.date_of(local), size, Role.LABEL, bold=True))
            y += 1.6 * size
        texts.append(Text(rail - 12, y, clock_time(local), size, Role.LABEL, Anchor.END, bold=True))
        dots.append(_dot(step, rail, y - (ASCENT - DESCENT) / 2 * size))
        for i, (text, bold) in enumerate(_paragraph(step, size, width - EDGE - left)):
            texts.append(Text(left, y + i * lead, text, size, _ink(step) if bold else Role.MUTED, bold=bold))
        y += len(_paragraph(step, size, width - EDGE - left)) * lead + 0.35 * size
        previous = step.at
    items = [Line(rail, EDGE, rail, y - size, Role.AXIS), *dots, *texts]
    return Picture(width, y + EDGE, line.title, line.description, tuple(items))


def _paragraph(step: Step, size: float, width: float) -> list[tuple[str, bool]]:
    head = [(text, True) for text in wrap(step.label, size, width, bold=True)]
    return head + [(text, False) for text in (wrap(step.note, size, width) if step.note else [])]
