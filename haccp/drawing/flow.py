"""A process as a vertical flow: one box per step, an arrow to the next, and the control points beside their step."""

from dataclasses import dataclass

from haccp.drawing.boxes import ASCENT
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import Anchor, Item, Line, Picture, Polygon, Rect, Text, points
from haccp.drawing.roles import Role
from haccp.drawing.typeface import text_width, wrap

EDGE = 6.0
PAD = 10.0
ARROW = 24.0
HEAD = 6.0
GAP = 14.0
WIDEST_BOX = 420.0
LEAD = 1.3  # line height, of the size


@dataclass(frozen=True, slots=True)
class Control:
    """A control point at a step. critical ones are drawn strong, with a double outline."""

    code: str
    name: str
    is_critical: bool


@dataclass(frozen=True, slots=True)
class FlowStep:
    """number: as the plan counts it. note: which products it is for, when not all."""

    number: int
    name: str
    note: str = ""
    controls: tuple[Control, ...] = ()


@dataclass(frozen=True, slots=True)
class Flow:
    """steps: at least one, in order."""

    title: str
    description: str
    steps: tuple[FlowStep, ...]
    layout: Layout = WIDE

    def __post_init__(self) -> None:
        if not self.steps:
            raise ValueError("A flow needs at least one step.")


@dataclass(frozen=True, slots=True)
class _Columns:
    """left, width: of the boxes; beside: where the control points begin; right: where the sheet ends."""

    left: float
    width: float
    beside: float
    right: float
    size: float


def flow(drawn: Flow) -> Picture:
    """As tall as its steps need. Critical control points carry a filled, double-edged tag, others an outlined one."""
    columns = _columns(drawn)
    y = EDGE
    items: list[Item] = []
    middle = columns.left + columns.width / 2
    for i, step in enumerate(drawn.steps):
        lines = _lines(step, columns)
        height = max(2 * PAD + len(lines) * LEAD * columns.size, _tags_height(step, columns))
        items += _box(columns, lines, y, height)
        items += _tags(step, columns, y, height)
        y += height
        if i + 1 < len(drawn.steps):
            items += _arrow(middle, y, y + ARROW)
            y += ARROW
    return Picture(drawn.layout.width, y + EDGE, drawn.title, drawn.description, tuple(items))


def _columns(drawn: Flow) -> _Columns:
    width = drawn.layout.width
    share = 0.52 if any(step.controls for step in drawn.steps) else 1.0
    box = min(WIDEST_BOX, (width - 2 * EDGE) * share)
    return _Columns(EDGE, box, EDGE + box + 2 * GAP, width - EDGE, drawn.layout.size)


def _lines(step: FlowStep, columns: _Columns) -> list[tuple[str, bool]]:
    room = columns.width - 2 * PAD
    named = [(text, True) for text in wrap(f"{step.number}  {step.name}", columns.size, room, bold=True)]
    return named + [(text, False) for text in (wrap(step.note, columns.size, room) if step.note else [])]


def _box(columns: _Columns, lines: list[tuple[str, bool]], y: float, height: float) -> list[Item]:
    size = columns.size
    first = y + (height - len(lines) * LEAD * size) / 2 + ASCENT * size + 0.15 * size
    words = [
        Text(columns.left + PAD, first + i * LEAD * size, text, size, Role.LABEL if bold else Role.MUTED, bold=bold)
        for i, (text, bold) in enumerate(lines)
    ]
    return [Rect(columns.left, y, columns.width, height, Role.AXIS, hollow=True, radius=6), *words]


def _arrow(x: float, top: float, bottom: float) -> list[Item]:
    head = points([(x, bottom), (x - HEAD, bottom - 1.4 * HEAD), (x + HEAD, bottom - 1.4 * HEAD)])
    return [Line(x, top, x, bottom - HEAD, Role.AXIS), Polygon(head, Role.AXIS)]


def _words_beside(control: Control, columns: _Columns) -> list[str]:
    tag = text_width(control.code, columns.size, bold=True) + 2 * PAD
    return wrap(control.name, columns.size, max(columns.right - columns.beside - tag - PAD, 4 * columns.size))


def _tag_height(control: Control, columns: _Columns) -> float:
    return max(2.1 * columns.size, len(_words_beside(control, columns)) * LEAD * columns.size) + 6


def _tags_height(step: FlowStep, columns: _Columns) -> float:
    return sum(_tag_height(control, columns) for control in step.controls)


def _tags(step: FlowStep, columns: _Columns, y: float, height: float) -> list[Item]:
    items: list[Item] = []
    size = columns.size
    top = y + (height - _tags_height(step, columns)) / 2
    for control in step.controls:
        tall = _tag_height(control, columns)
        middle = top + tall / 2
        wide = text_width(control.code, size, bold=True) + 2 * PAD
        tag_height = 1.8 * size
        role = Role.LIMIT if control.is_critical else Role.MUTED
        items.append(Line(columns.left + columns.width, middle, columns.beside, middle, role))
        items.append(Rect(columns.beside, middle - tag_height / 2, wide, tag_height, role, hollow=True, radius=4))
        if control.is_critical:
            inner = columns.beside + 3, middle - tag_height / 2 + 3, wide - 6, tag_height - 6
            items.append(Rect(*inner, role, hollow=True, radius=2))
        items.append(
            Text(columns.beside + wide / 2, middle + 0.34 * size, control.code, size, role, Anchor.MIDDLE, bold=True)
        )
        words = _words_beside(control, columns)
        first = middle - len(words) * LEAD * size / 2 + ASCENT * size + 0.15 * size
        items += [
            Text(columns.beside + wide + PAD, first + i * LEAD * size, text, size, Role.LABEL)
            for i, text in enumerate(words)
        ]
        top += tall
    return items
