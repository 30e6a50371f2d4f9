"""What each column holds, from its head and from its first cells: times, temperatures, other quantities."""

import re
from collections import Counter
from dataclasses import dataclass, replace
from typing import Literal

from haccp.science.recorder import messages, numerals, stamps, vocabulary

Role = Literal["product", "air_space", "other"]
TimeKind = Literal["stamp", "date_and_clock", "clock", "elapsed", "elapsed_clock", "serial", "epoch"]

_BRACKETED = re.compile(r"(?P<name>.*?)\s*[(\[{]\s*(?P<unit>[^)\]}]*?)\s*[)\]}]")
_DEGREE = r"(?:[°ºø˚]\s*|deg(?:rees?)?[.\s]*)"  # ø is the degree sign of an old code page read as another
_TEMPERATURE_UNIT = re.compile(rf"{_DEGREE}?(?P<letter>[cf])(?:elsius|ahrenheit)?", re.IGNORECASE)
_TRAILING = re.compile(
    rf"(?P<name>.*?)(?:\s*[,/:_]\s*|\s+)(?:in\s+)?(?P<unit>{_DEGREE}[cf]|celsius|fahrenheit)", re.IGNORECASE
)
# A bare letter is a unit after a mark ("Milk, C") or a word for temperature, and else a probe's name ("Probe C").
_BARE_LETTER = re.compile(
    r"(?P<name>.*?)(?:\s*[,/_]\s*|(?<=temp)\s+|(?<=temperature)\s+|(?<=\bt)\s+)(?P<unit>[cf])", re.IGNORECASE
)
_OFFSET = re.compile(
    r"\b(?:UTC|GMT)\s*(?:(?P<sign>[+\-])\s*(?P<hours>\d{1,2})(?::?(?P<minutes>\d{2}))?)?", re.IGNORECASE
)

_OTHER_UNIT = re.compile(r"s|sec|min|h|%|%rh|l/h|l/min|bar|ph|v|mv|ma|(?:[ymdhs]+[-/.:, ]*)+|utc|-", re.IGNORECASE)
# Days since 30 December 1899, as spreadsheets count them: of the years 2000 to 2099
_SERIAL_DAYS = (36_526.0, 73_051.0)
# Seconds since 1970, UTC, as POSIX counts them: from September 2001 (ten digits) to 2099; also in thousandths
_EPOCH_S = (1e9, 4_102_444_800.0)
_ELAPSED_UNITS_S = {"s": 1.0, "sec": 1.0, "secs": 1.0, "seconds": 1.0, "min": 60.0, "minutes": 60.0, "h": 3600.0}


@dataclass(frozen=True, slots=True)
class Channel:
    """index: column of the file. unit: as labelled. scale: "C" or "F" for a temperature, None for another quantity.

    stated: False where the scale was taken for granted.
    """

    index: int
    name: str
    unit: str
    scale: str | None
    stated: bool
    role: Role
    hot: bool


@dataclass(frozen=True, slots=True)
class TimeColumns:
    """indexes: the column, or date and clock. scale_s: seconds in one unit of elapsed time, or of time since 1970.

    offset_minutes: where the head says that times are in UTC or at an offset from it.
    """

    kind: TimeKind
    indexes: tuple[int, ...]
    scale_s: float = 1.0
    offset_minutes: int | None = None


@dataclass(frozen=True, slots=True)
class Columns:
    """time: where the times are. channels: every other column but those that number the rows."""

    time: TimeColumns
    channels: tuple[Channel, ...]


def is_value(text: str) -> bool:
    """True for a number, a date, a time or a mark for a missing reading: what stands in a row, not in a head."""
    return (
        numerals.is_number(text)
        or numerals.is_missing_mark(text)
        or stamps.is_stamp(text)
        or stamps.is_date(text)
        or stamps.is_clock(text)
    )


def names_time(head: str) -> bool:
    return bool(vocabulary.words(head) & vocabulary.TIME)


def names_temperature(head: str) -> bool:
    """True for a head with a unit of temperature, or with a name that is used for one and no other unit."""
    name, unit = split_head(head)
    return _scale_of(unit) is not None or (not unit and _is_temperature_name(name))


def is_unit(text: str) -> bool:
    """True for a cell of a line of units under the heads."""
    bare = text.strip("()[] ")
    return bool(
        _TEMPERATURE_UNIT.fullmatch(bare)
        or re.fullmatch(r"s|sec|min|h|%|%rh|l/h|l/min|bar|ph|v|mv|ma|(?:[ymdhs]+[-/.:, ]*)+|utc|-", bare, re.IGNORECASE)
    )


def split_head(head: str) -> tuple[str, str]:
    """The name and the unit in a head such as "Milk (°C)"; the unit is empty where there is none."""
    head = head.strip()
    for pattern in (_BRACKETED, _TRAILING, _BARE_LETTER):
        match = pattern.fullmatch(head)
        if match is not None:
            return match["name"].strip(" ,/_:") or head, match["unit"]
    whole = _TEMPERATURE_UNIT.fullmatch(head)
    return (head, head) if whole and len(head) > 1 else (head, "")


def find_columns(
    heads: list[str], sample: list[list[str]], *, heads_line: int, header_unit: str | None = None
) -> Columns:
    """Tell the columns apart. sample: the first rows, split; header_unit: "C" or "F" where the header gives it.

    Raises InputError where no column holds times, or none is a temperature.
    """
    time = _find_time(heads, sample, heads_line)
    names: Counter[str] = Counter()
    channels = []
    for index, head in enumerate(heads):
        if index in time.indexes or _numbers_the_rows(head):
            continue
        channel = _channel(index, head, [row[index] for row in sample if index < len(row)], header_unit)
        names[channel.name] += 1
        if names[channel.name] > 1:
            channel = replace(channel, name=f"{channel.name} {names[channel.name]}")
        channels.append(channel)
    temperatures = [channel for channel in channels if channel.scale]
    if not temperatures:
        raise messages.no_temperature_column(heads_line, heads)
    return Columns(time, tuple(_sole_product(channels, temperatures)))


def _scale_of(unit: str) -> str | None:
    match = _TEMPERATURE_UNIT.fullmatch(unit)
    return match["letter"].upper() if match else None


def scale_named(unit: str) -> str | None:
    """ "C" or "F" for any way of writing the unit, None for another unit."""
    return _scale_of(unit.strip())


def _is_temperature_name(name: str) -> bool:
    words = vocabulary.words(name)
    known = vocabulary.TEMPERATURE | vocabulary.PRODUCT | vocabulary.AIR_SPACE | vocabulary.AROUND
    return bool(words & known) and not words & vocabulary.NO_TEMPERATURE


def _numbers_the_rows(head: str) -> bool:
    words = vocabulary.words(head)
    return head.strip() == "#" or bool(words and words <= vocabulary.COUNTER)


def _role(name: str) -> Role:
    words = vocabulary.words(name)
    if words & vocabulary.AROUND:
        return "other"
    if words & vocabulary.AIR_SPACE:
        return "air_space"
    return "product" if words & vocabulary.PRODUCT else "other"


def _channel(index: int, head: str, cells: list[str], header_unit: str | None) -> Channel:
    name, unit = split_head(head)
    name = name or f"Column {index + 1}"
    scale, stated = _scale_of(unit), True
    holds_numbers = any(map(numerals.is_number, cells)) or not any(cells)
    if scale is None and not unit and _is_temperature_name(name) and holds_numbers:
        scale, stated = header_unit or "C", header_unit is not None
    role = _role(name) if scale else "other"
    return Channel(index, name, unit, scale, stated, role, bool(vocabulary.words(name) & vocabulary.HOT))


def _sole_product(channels: list[Channel], temperatures: list[Channel]) -> list[Channel]:
    """The one temperature of a file is the product's, unless its name says otherwise."""
    sole = temperatures[0]
    if len(temperatures) > 1 or sole.role != "other" or vocabulary.words(sole.name) & vocabulary.AROUND:
        return channels
    return [replace(sole, role="product") if channel is sole else channel for channel in channels]


def _find_time(heads: list[str], sample: list[list[str]], heads_line: int) -> TimeColumns:
    kinds = [_kind([row[index].strip() for row in sample if index < len(row)]) for index in range(len(heads))]
    if "stamp" in kinds:
        index = kinds.index("stamp")
        return TimeColumns("stamp", (index,), offset_minutes=_head_offset(heads[index]))
    if "clock" in kinds:
        clock = kinds.index("clock")
        offset = _head_offset(heads[clock])
        if "date" in kinds:
            return TimeColumns("date_and_clock", (kinds.index("date"), clock), offset_minutes=offset)
        if vocabulary.words(heads[clock]) & vocabulary.ELAPSED:
            return TimeColumns("elapsed_clock", (clock,))
        return TimeColumns("clock", (clock,), offset_minutes=offset)
    named = [index for index, head in enumerate(heads) if names_time(head) and not names_temperature(head)]
    for index in named:
        epoch_scale = _epoch_scale([row[index] for row in sample if index < len(row)])
        if kinds[index] == "number" and epoch_scale is not None:
            return TimeColumns("epoch", (index,), scale_s=epoch_scale)
        if kinds[index] == "number" and _is_serial(heads[index], [row[index] for row in sample if index < len(row)]):
            return TimeColumns("serial", (index,), offset_minutes=_head_offset(heads[index]))
        if kinds[index] == "number":
            return TimeColumns("elapsed", (index,), scale_s=_elapsed_scale(heads[index]))
    if named and kinds[named[0]] == "text":
        # The cells are read, and the line at fault is named, where a stamp is expected.
        return TimeColumns("stamp", (named[0],))
    raise messages.no_time_column(heads_line, heads)


def _kind(cells: list[str]) -> str:
    """What most cells of a column's first rows are."""
    found = Counter(
        "stamp" if stamps.is_stamp(cell)
        else "clock" if stamps.is_clock(cell)
        else "number" if numerals.is_number(cell)
        else "date" if stamps.is_date(cell)
        else "text"
        for cell in cells
        if not numerals.is_missing_mark(cell)
    )  # fmt: skip
    return found.most_common(1)[0][0] if found else "missing"


def _epoch_scale(cells: list[str]) -> float | None:
    """Seconds in one unit of a count since 1970: no elapsed time is that long. None where it is none."""
    values = [float(cell.strip().replace(",", ".")) for cell in cells if numerals.is_number(cell.strip())]
    for scale in (1.0, 1e-3):
        if values and all(_EPOCH_S[0] <= value * scale < _EPOCH_S[1] for value in values):
            return scale
    return None


def _is_serial(head: str, cells: list[str]) -> bool:
    """A spreadsheet's own number for date and time: no unit of elapsed time in the head, and days of this century."""
    name, unit = split_head(head)
    if {unit.casefold(), *vocabulary.words(name)} & (_ELAPSED_UNITS_S.keys() | vocabulary.ELAPSED):
        return False
    values = [cell.strip().replace(",", ".") for cell in cells if numerals.is_number(cell.strip())]
    try:
        days = [float(value) for value in values]
    except ValueError:
        return False
    return bool(days) and all(_SERIAL_DAYS[0] <= day < _SERIAL_DAYS[1] for day in days)


def _elapsed_scale(head: str) -> float:
    name, unit = split_head(head)
    words = {unit.casefold(), *vocabulary.words(name)}
    return next((scale for word, scale in _ELAPSED_UNITS_S.items() if word in words), 1.0)


def _head_offset(head: str) -> int | None:
    match = _OFFSET.search(head)
    if match is None:
        return None
    minutes = int(match["hours"] or 0) * 60 + int(match["minutes"] or 0)
    return -minutes if match["sign"] == "-" else minutes
