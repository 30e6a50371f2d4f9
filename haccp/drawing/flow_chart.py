"""A process as a flow chart: steps from top to bottom, side by side where the flow branches, what goes in and comes
out, rework led back at the side, and the control points in their step's box."""

from dataclasses import dataclass
from itertools import pairwise

from haccp.drawing.boxes import ASCENT
from haccp.drawing.flow_layout import Arrangement, Passage, Place, arrange, graph_of
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import (
    DASH_DOT,
    DASHED,
    SOLID,
    Anchor,
    Dash,
    Item,
    Picture,
    Polygon,
    Polyline,
    Rect,
    Text,
    points,
)
from haccp.drawing.roles import Role
from haccp.drawing.typeface import text_width, wrap
from haccp.science.flow import LinkKind

EDGE = 6.0
PAD = 8.0
GAP = 14.0  # between boxes of one row
BETWEEN_ROWS = 30.0
HEAD = 5.0
LANE = 12.0  # between two links that lead back
PASSAGE = 10.0
WIDEST_BOX = 420.0
NARROWEST_BOX = 8.4  # of the size of the type
LEAD = 1.3  # line height, of the size


@dataclass(frozen=True, slots=True)
class Control:
    """A control point at a step. Critical ones are drawn strong, with a double outline."""

    code: str
    name: str
    is_critical: bool


@dataclass(frozen=True, slots=True)
class FlowStep:
    """number: as the plan counts it. note: which products it is for, when not all. inputs, outputs: materials."""

    number: int
    name: str
    note: str = ""
    controls: tuple[Control, ...] = ()
    inputs: tuple[str, ...] = ()
    outputs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FlowArrow:
    """From one step's number to another's. label: when, or what."""

    start: int
    end: int
    kind: LinkKind = LinkKind.FLOW
    label: str = ""


@dataclass(frozen=True, slots=True)
class Flow:
    """steps: at least one, in order, with different numbers. links: None for one step after another.

    Raises ValueError for a flow without steps, or links of steps that it does not have.
    """

    title: str
    description: str
    steps: tuple[FlowStep, ...]
    layout: Layout = WIDE
    links: tuple[FlowArrow, ...] | None = None

    def __post_init__(self) -> None:
        if not self.steps:
            raise ValueError("A flow needs at least one step.")
        numbers = {step.number for step in self.steps}
        if not all({link.start, link.end} <= numbers for link in self.arrows):
            raise ValueError("A link of the flow names a step that the flow does not have.")

    @property
    def arrows(self) -> tuple[FlowArrow, ...]:
        if self.links is not None:
            return self.links
        return tuple(FlowArrow(one.number, other.number) for one, other in pairwise(self.steps))


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    role: Role = Role.MUTED
    bold: bool = False


@dataclass(frozen=True, slots=True)
class _Box:
    """A step, or a passage, on the sheet."""

    left: float
    top: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        return self.left + self.width / 2

    @property
    def bottom(self) -> float:
        return self.top + self.height


_DASHES: dict[LinkKind, Dash] = {LinkKind.REWORK: DASHED, LinkKind.WASTE: DASH_DOT}


def flow(drawn: Flow) -> Picture:
    """As tall as its steps need. Critical control points carry a double-edged tag, others a plain one."""
    graph = graph_of(
        [str(step.number) for step in drawn.steps],
        [(str(arrow.start), str(arrow.end), arrow.kind) for arrow in drawn.arrows],
    )
    returning = sum(arrow.kind is LinkKind.REWORK for arrow in drawn.arrows)
    room = drawn.layout.width - 2 * EDGE - returning * LANE
    widest = max(1, int((room + GAP) / (NARROWEST_BOX * drawn.layout.size + GAP)))
    arrangement = arrange(graph, widest)
    boxes, bottom = _boxes(drawn, arrangement)
    items: list[Item] = []
    for number, way in arrangement.ways.items():
        items += _way_down(drawn.arrows[number], way, boxes)
    for lane, number in enumerate(arrangement.back):
        items += _way_back(drawn, drawn.arrows[number], lane, boxes)
    for step in drawn.steps:
        items += _step(step, boxes[str(step.number)], drawn)
    return Picture(drawn.layout.width, bottom, drawn.title, drawn.description, tuple(items))


# --- Places ---


def _boxes(drawn: Flow, arrangement: Arrangement) -> tuple[dict[Place, _Box], float]:
    """Where every step and passage stands, and where the sheet ends."""
    steps = {str(step.number): step for step in drawn.steps}
    lanes = len(arrangement.back)
    right = drawn.layout.width - EDGE - (lanes * LANE + GAP if lanes else 0)
    between = BETWEEN_ROWS + 3.0 * lanes
    boxes: dict[Place, _Box] = {}
    top = EDGE + (between if lanes else 0)
    for row in arrangement.rows:
        widths = _widths(row, right - EDGE)
        here = [steps[place] for place in row if isinstance(place, str)]
        height = max(_height(step, _box_width(row, right - EDGE), drawn) for step in here)
        left = EDGE + (right - EDGE - sum(widths) - GAP * (len(row) - 1)) / 2
        for place, width in zip(row, widths, strict=True):
            boxes[place] = _Box(left, top, width, height)
            left += width + GAP
        top += height + between
    return boxes, top - between + (between if lanes else EDGE)


def _box_width(row: tuple[Place, ...], room: float) -> float:
    passages = sum(isinstance(place, Passage) for place in row)
    return min(WIDEST_BOX, (room - GAP * (len(row) - 1) - passages * PASSAGE) / (len(row) - passages))


def _widths(row: tuple[Place, ...], room: float) -> list[float]:
    return [PASSAGE if isinstance(place, Passage) else _box_width(row, room) for place in row]


# --- Boxes ---


def _step(step: FlowStep, box: _Box, drawn: Flow) -> list[Item]:
    size = drawn.layout.size
    items: list[Item] = [Rect(box.left, box.top, box.width, box.height, Role.AXIS, hollow=True, radius=6)]
    baseline = box.top + PAD + ASCENT * size + 0.15 * size
    for line in _lines(step, box.width, drawn):
        items.append(Text(box.left + PAD, baseline, line.text, size, line.role, bold=line.bold))
        baseline += LEAD * size
    top = baseline - (ASCENT + 0.15) * size
    for row in _tag_rows(step, box.width, size):
        left = box.left + PAD
        for control, text, width in row:
            items += _tag(control, text, left, top, width, size)
            left += width + PAD
        top += _tag_height(size)
    return items


def _height(step: FlowStep, width: float, drawn: Flow) -> float:
    size = drawn.layout.size
    lines = len(_lines(step, width, drawn)) * LEAD * size
    return 2 * PAD + lines + len(_tag_rows(step, width, size)) * _tag_height(size)


def _lines(step: FlowStep, width: float, drawn: Flow) -> list[_Line]:
    size, room = drawn.layout.size, width - 2 * PAD
    lines = [_Line(text, Role.LABEL, True) for text in fit(f"{step.number}  {step.name}", size, room, bold=True)]
    told = [step.note] if step.note else []
    told += [f"in: {', '.join(step.inputs)}"] if step.inputs else []
    told += [f"out: {', '.join(step.outputs)}"] if step.outputs else []
    told += [_told(arrow, drawn) for arrow in drawn.arrows if arrow.start == step.number and _needs_words(arrow)]
    return lines + [_Line(text) for words in told for text in fit(words, size, room)]


def _needs_words(arrow: FlowArrow) -> bool:
    return bool(arrow.label) or arrow.kind is LinkKind.REWORK


def _told(arrow: FlowArrow, drawn: Flow) -> str:
    name = next(step.name for step in drawn.steps if step.number == arrow.end)
    what = {LinkKind.REWORK: "rework to", LinkKind.WASTE: "waste to"}.get(arrow.kind, "to")
    return f"{what} {arrow.end} {name}" + (f": {arrow.label}" if arrow.label else "")


def fit(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Lines no wider than width; a word that is wider itself is broken."""
    words = []
    for word in text.split():
        while text_width(word, size, bold=bold) > width and len(word) > 1:
            end = max(n for n in range(1, len(word)) if n == 1 or text_width(word[:n], size, bold=bold) <= width)
            words.append(word[:end])
            word = word[end:]
        words.append(word)
    return wrap(" ".join(words), size, width, bold=bold)


# --- Control points ---


def _tag_height(size: float) -> float:
    return 1.8 * size + 4


def _tag_rows(step: FlowStep, width: float, size: float) -> list[list[tuple[Control, str, float]]]:
    """The tags of a step in rows: with their names where a row has room for it, else by code alone."""
    room = width - 2 * PAD
    rows: list[list[tuple[Control, str, float]]] = []
    used = room
    for control in step.controls:
        full = f"{control.code} {control.name}"
        text = full if text_width(full, size, bold=True) + 2 * PAD <= room else control.code
        wide = min(text_width(text, size, bold=True) + 2 * PAD, room)
        if used + PAD + wide > room:
            rows.append([])
            used = -PAD
        rows[-1].append((control, text, wide))
        used += PAD + wide
    return rows


def _tag(control: Control, text: str, left: float, top: float, width: float, size: float) -> list[Item]:
    role = Role.LIMIT if control.is_critical else Role.MUTED
    height = 1.8 * size
    items: list[Item] = [Rect(left, top + 2, width, height, role, hollow=True, radius=4)]
    if control.is_critical:
        items.append(Rect(left + 3, top + 5, width - 6, height - 6, role, hollow=True, radius=2))
    baseline = top + 2 + height / 2 + 0.34 * size
    items.append(Text(left + width / 2, baseline, text, size, role, Anchor.MIDDLE, bold=True))
    return items


# --- Links ---


def _way_down(arrow: FlowArrow, way: tuple[Place, ...], boxes: dict[Place, _Box]) -> list[Item]:
    """From the bottom of one box to the top of another, straight down through the passages."""
    path = [(boxes[way[0]].middle, boxes[way[0]].bottom)]
    for place in way[1:-1]:
        path += [(boxes[place].middle, boxes[place].top), (boxes[place].middle, boxes[place].bottom)]
    end = boxes[way[-1]]
    return _arrow([*path, (end.middle, end.top)], arrow.kind)


def _way_back(drawn: Flow, arrow: FlowArrow, lane: int, boxes: dict[Place, _Box]) -> list[Item]:
    """Out at the bottom of the box, up at the right of all boxes, in at the top."""
    start, end = boxes[str(arrow.start)], boxes[str(arrow.end)]
    side = drawn.layout.width - EDGE - lane * LANE
    under, over = start.bottom + 7 + 3.0 * lane, end.top - 14 - 3.0 * lane
    out, into = start.left + 0.75 * start.width, end.left + 0.75 * end.width
    path = [(out, start.bottom), (out, under), (side, under), (side, over), (into, over), (into, end.top)]
    return _arrow(path, arrow.kind)


def _arrow(path: list[tuple[float, float]], kind: LinkKind) -> list[Item]:
    x, y = path[-1]
    role = Role.EVENT if kind in _DASHES else Role.AXIS
    head = points([(x, y), (x - HEAD, y - 1.6 * HEAD), (x + HEAD, y - 1.6 * HEAD)])
    shaft = points([*path[:-1], (x, y - HEAD)])
    return [Polyline(shaft, role, _DASHES.get(kind, SOLID)), Polygon(head, role)]
