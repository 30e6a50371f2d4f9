"""The ageing of a cheese as a bar of time: what is proven, what is not, what is lost, and what is still to come."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from haccp.drawing.boxes import ASCENT, Box, box_of, spread
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import DASHED, Anchor, Item, Line, Picture, Rect, Text
from haccp.drawing.roles import Role
from haccp.drawing.scale import Scale
from haccp.drawing.ticks import clock_caption, clock_ticks
from haccp.drawing.typeface import text_width, wrap
from haccp.drawing.wording import ENGLISH, Wording

EDGE = 6.0
BAR = 34.0
SWATCH = 16.0
STAFF = 10.0


class Worth(StrEnum):
    PROVEN = "proven"
    UNPROVEN = "unproven"
    LOST = "lost"
    TO_COME = "to come"


# Filled, hatched, hatched in another ink, hollow: told apart without colour
_INK: dict[Worth, tuple[Role, bool, bool]] = {
    Worth.PROVEN: (Role.HOLD, False, False),
    Worth.UNPROVEN: (Role.GAP, False, True),
    Worth.LOST: (Role.PROBLEM, False, True),
    Worth.TO_COME: (Role.AXIS, True, False),
}


@dataclass(frozen=True, slots=True)
class AgedStretch:
    """room: written above the bar; stretches of one room that follow each other share their label."""

    worth: Worth
    room: str
    from_at: datetime
    to_at: datetime


@dataclass(frozen=True, slots=True)
class Moment:
    """A day that matters: a flag under the bar."""

    at: datetime
    label: str
    role: Role = Role.LABEL


@dataclass(frozen=True, slots=True)
class AgeingBar:
    """stretches: at least one, aware times, in order. moments: flags. legend: (worth, words), in order."""

    title: str
    description: str
    zone: ZoneInfo
    stretches: tuple[AgedStretch, ...]
    moments: tuple[Moment, ...]
    legend: tuple[tuple[Worth, str], ...]
    layout: Layout = WIDE
    wording: Wording = ENGLISH

    def __post_init__(self) -> None:
        if not self.stretches:
            raise ValueError("A bar of ageing needs at least one stretch of time.")
        if any(time.tzinfo is None for one in self.stretches for time in (one.from_at, one.to_at)):
            raise ValueError("The stretches of an ageing have aware times; give them a time zone.")


def ageing_bar(bar: AgeingBar) -> Picture:
    """The bar to scale in time, rooms above it, flags and the clock below it, and what each filling means."""
    layout, size = bar.layout, bar.layout.size
    origin = bar.stretches[0].from_at.astimezone(UTC)
    ends = [*(one.to_at for one in bar.stretches), *(one.at for one in bar.moments)]
    last_s = max((end - origin).total_seconds() for end in ends)
    x = Scale(0.0, max(last_s, 3600.0), EDGE + 2, layout.width - EDGE - 2)
    lead = 1.3 * size
    rooms = _rooms(bar, origin, x, size)
    top = EDGE + lead * max((len(lines) for _x, lines in rooms), default=1) + 6
    items: list[Item] = []
    for at, lines in rooms:
        for i, text in enumerate(lines):
            y = top - 8 - (len(lines) - 1 - i) * lead
            items.append(Text(at, y, text, size, Role.LABEL))
    for one in bar.stretches:
        left, right = _ends(one.from_at, one.to_at, origin, x)
        role, hollow, hatch = _INK[one.worth]
        items.append(Rect(left, top, right - left, BAR, role, hollow, hatch))
    items += _between_rooms(bar, origin, x, top)
    bottom = top + BAR
    flags, bottom = _flags(bar, origin, x, top, bottom)
    items += flags
    clock, bottom = _clock(bar, origin, x, bottom + 10)
    items += clock
    legend, bottom = _legend(bar, bottom + 8)
    items += legend
    return Picture(layout.width, bottom + EDGE, bar.title, bar.description, tuple(items))


def _at(moment: datetime, origin: datetime, x: Scale) -> float:
    return x((moment - origin).total_seconds())


def _ends(from_at: datetime, to_at: datetime, origin: datetime, x: Scale) -> tuple[float, float]:
    """At least two pixels apart, so that an hour's gap in a year is still seen."""
    left = _at(from_at, origin, x)
    right = max(_at(to_at, origin, x), left + 2)
    return (left, right) if right <= x.end else (x.end - 2, x.end)


def _stays(bar: AgeingBar) -> list[tuple[str, datetime, datetime]]:
    stays: list[tuple[str, datetime, datetime]] = []
    for one in bar.stretches:
        if one.worth is Worth.TO_COME:
            continue
        if stays and stays[-1][0] == one.room:
            stays[-1] = (one.room, stays[-1][1], one.to_at)
        else:
            stays.append((one.room, one.from_at, one.to_at))
    return stays


def _rooms(bar: AgeingBar, origin: datetime, x: Scale, size: float) -> list[tuple[float, list[str]]]:
    """Names that fit above their stay; a name that is wider than its stay is left to the words beside the picture."""
    found: list[tuple[float, list[str]]] = []
    for room, from_at, to_at in _stays(bar):
        left, right = _ends(from_at, to_at, origin, x)
        lines = wrap(room, size, right - left - 4) if room else []
        if lines and max(text_width(line, size) for line in lines) <= right - left:
            found.append((left, lines))
    return found


def _between_rooms(bar: AgeingBar, origin: datetime, x: Scale, top: float) -> list[Item]:
    items: list[Item] = []
    for _room, from_at, _to in _stays(bar)[1:]:
        at = _at(from_at, origin, x)
        items.append(Line(at, top - 6, at, top + BAR, Role.AXIS))
    return items


def _flags(bar: AgeingBar, origin: datetime, x: Scale, top: float, bottom: float) -> tuple[list[Item], float]:
    """Each moment's words on a row of their own, its staff through the bar."""
    size = bar.layout.size
    items: list[Item] = []
    rows = sorted(bar.moments, key=lambda one: one.at)
    for i, one in enumerate(rows):
        at = _at(one.at, origin, x)
        y = bottom + STAFF + (i + ASCENT) * 1.35 * size
        width = text_width(one.label, size, bold=True)
        goes_right = at + 8 + width <= bar.layout.width - EDGE
        start = at + 8 if goes_right else max(at - 8, EDGE + width)
        items.append(Line(at, top - 4, at, y - 0.3 * size, one.role, DASHED))
        anchor = Anchor.START if goes_right else Anchor.END
        items.append(Text(start, y, one.label, size, one.role, anchor, bold=True, halo=True))
    return items, bottom + STAFF + len(rows) * 1.35 * size


def _clock(bar: AgeingBar, origin: datetime, x: Scale, top: float) -> tuple[list[Item], float]:
    size = bar.layout.size
    items: list[Item] = [Line(x.start, top, x.end, top, Role.AXIS)]
    most = int((x.end - x.start) / (5.5 * size))
    taken: list[Box] = []
    for tick in clock_ticks(origin, x.low, x.high, bar.zone, most, bar.wording):
        at = x(tick.at_s)
        items.append(Line(at, top, at, top + 5, Role.AXIS))
        half = text_width(tick.label, size) / 2
        (centre,) = spread([at], [2 * half], EDGE, bar.layout.width - EDGE)
        text = Text(centre, top + 6 + size, tick.label, size, Role.MUTED, Anchor.MIDDLE)
        if not any(box_of(text).overlaps(other) for other in taken):
            taken.append(box_of(text))
            items.append(text)
    caption = clock_caption(origin, x.low, x.high, bar.zone, bar.wording)
    items.append(Text(x.start, top + 6 + 2.35 * size, caption, size, Role.MUTED))
    return items, top + 6 + 2.7 * size


def _legend(bar: AgeingBar, top: float) -> tuple[list[Item], float]:
    size = bar.layout.size
    items: list[Item] = []
    left, y, row = EDGE, top, 1.8 * size
    for worth, words in bar.legend:
        width = SWATCH + 8 + text_width(words, size) + 20
        if left > EDGE and left + width > bar.layout.width - EDGE:
            left, y = EDGE, y + row
        role, hollow, hatch = _INK[worth]
        items.append(Rect(left, y + (row - SWATCH) / 2, SWATCH, SWATCH, role, hollow, hatch))
        items.append(Text(left + SWATCH + 8, y + row / 2 + 0.34 * size, words, size, Role.LABEL))
        left += width
    return items, y + row


def until(earliest_at: datetime, as_of: datetime) -> AgedStretch | None:
    """What is still to come, as a stretch; None where nothing is."""
    return AgedStretch(Worth.TO_COME, "", as_of, earliest_at) if earliest_at - as_of > timedelta(0) else None
