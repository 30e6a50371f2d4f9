"""Cells that hold a date, a time of day, or both: which layout, and the numbers in them."""

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from haccp.science.recorder import messages
from haccp.science.recorder.cells import BoolArray, ByteMatrix, Cells, IntArray

MICROSECONDS = 1_000_000
_DATE = (
    r"(?:(?P<year>[0-9]{4})(?P<y_mark>[-/.])(?P<month>[0-9]{1,2})(?P=y_mark)(?P<day>[0-9]{1,2})"
    r"|(?P<first>[0-9]{1,2})(?P<mark>[-/.])(?P<second>[0-9]{1,2})(?P=mark)(?P<last>[0-9]{4}|[0-9]{2}))"
)
_CLOCK = (
    r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})(?::(?P<seconds>[0-9]{2})(?:[.,](?P<fraction>[0-9]{1,9}))?)?"
    r"(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_OFFSET = r"(?: ?(?:(?P<utc>Z|z|UTC|GMT)|(?P<sign>[+-])(?P<offset_h>[0-9]{2}):?(?P<offset_m>[0-9]{2})))?"

DATE = re.compile(_DATE)
CLOCK = re.compile(_CLOCK + _OFFSET)
STAMP = re.compile(rf"{_DATE}(?:[T_]|,? +){_CLOCK}{_OFFSET}")


@dataclass(frozen=True, slots=True)
class Fields:
    """The numbers in n cells. numbers: group of the pattern -> (n,), −1 where a cell lacks it.

    fraction_us: (n,) µs. is_pm, is_am, is_utc, is_west: (n,) flags. dotted: (n,) day.month.year with dots.
    """

    numbers: dict[str, IntArray]
    fraction_us: IntArray
    flags: dict[str, BoolArray]

    def __getitem__(self, group: str) -> IntArray:
        return self.numbers[group]

    def has(self, group: str) -> BoolArray:
        return self.numbers[group] >= 0 if group in self.numbers else np.zeros(self.fraction_us.size, dtype=bool)


_FLAGS: dict[str, Callable[[re.Match[str]], bool]] = {
    "am": lambda match: (match["half"] or "").lower() == "a",
    "pm": lambda match: (match["half"] or "").lower() == "p",
    "utc": lambda match: match["utc"] is not None,
    "west": lambda match: match["sign"] == "-",
    "dotted": lambda match: match["mark"] == ".",
}
_FLAG_GROUP = {"am": "half", "pm": "half", "utc": "utc", "west": "sign", "dotted": "mark"}
_NUMBERS = {"year", "month", "day", "first", "second", "last", "hour", "minute", "seconds", "offset_h", "offset_m"}


def is_stamp(text: str) -> bool:
    return STAMP.fullmatch(text) is not None


def is_date(text: str) -> bool:
    return DATE.fullmatch(text) is not None


def is_clock(text: str) -> bool:
    return CLOCK.fullmatch(text) is not None


def read_fields(cells: Cells, pattern: re.Pattern[str], *, lines: IntArray, head: str) -> Fields:
    """Read a column by its shapes: cells alike but for their digits are read together.

    Raises InputError naming the first line whose cell does not fit the pattern.
    """
    count = len(cells)
    numbers = {group: np.full(count, -1, dtype=np.int64) for group in pattern.groupindex if group in _NUMBERS}
    fraction_us = np.zeros(count, dtype=np.int64)
    flags = {flag: np.zeros(count, dtype=bool) for flag, group in _FLAG_GROUP.items() if group in pattern.groupindex}
    fields = Fields(numbers, fraction_us, flags)
    todo = np.arange(count)
    while todo.size:
        text = cells.text(int(todo[0]))
        match = pattern.fullmatch(text)
        if match is None:
            raise messages.unreadable_time(int(lines[todo[0]]), head, text)
        block = cells.matrix if todo.size == count else cells.matrix[todo]
        alike = _same_shape(block, text.encode())
        if alike.all():
            _fill(fields, todo, block, match)
            break
        _fill(fields, todo[alike], block[alike], match)
        todo = todo[~alike]
    return fields


def _same_shape(block: ByteMatrix, example: bytes) -> BoolArray:
    alike = np.ones(block.shape[0], dtype=bool)
    for position, byte in enumerate(example.ljust(block.shape[1], b"\0")):
        column = block[:, position]
        alike &= (column - np.uint8(48)) < 10 if chr(byte).isdigit() else column == byte
    return alike


def _fill(fields: Fields, rows: IntArray, block: ByteMatrix, match: re.Match[str]) -> None:
    for group, values in fields.numbers.items():
        if match[group] is not None:
            values[rows] = _digits(block, *match.span(group))
    if "fraction" in match.re.groupindex and match["fraction"] is not None:
        start, end = match.span("fraction")
        fields.fraction_us[rows] = _digits(block, start, end) * MICROSECONDS // 10 ** (end - start)
    for flag, values_of_flag in fields.flags.items():
        values_of_flag[rows] = _FLAGS[flag](match)


def _digits(block: ByteMatrix, start: int, end: int) -> IntArray:
    value = np.zeros(block.shape[0], dtype=np.int64)
    for position in range(start, end):
        value = value * 10 + (block[:, position] - np.uint8(48))
    return value


def time_of_day_us(fields: Fields, cells: Cells, lines: IntArray) -> IntArray:
    """µs since midnight on the clock's face, shape (n,). Raises InputError for a time such as 25:00 or 13:00 pm."""
    hour, minute, seconds = fields["hour"], fields["minute"], np.maximum(fields["seconds"], 0)
    am, pm = fields.flags["am"], fields.flags["pm"]
    twelve_hour = am | pm
    wrong = (hour > 23) | (minute > 59) | (seconds > 59) | (twelve_hour & ((hour < 1) | (hour > 12)))
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        raise messages.impossible_time(int(lines[row]), cells.text(row))
    if twelve_hour.any():
        hour = np.where(twelve_hour, hour % 12 + 12 * pm, hour)
    return ((hour * 60 + minute) * 60 + seconds) * MICROSECONDS + fields.fraction_us


def offset_us(fields: Fields) -> tuple[IntArray, BoolArray]:
    """The offset from UTC that each cell states, in µs, and which cells state one; shape (n,) each."""
    stated = fields.flags["utc"] | fields.has("offset_h")
    if not stated.any():
        return np.zeros(stated.size, dtype=np.int64), stated
    minutes = np.maximum(fields["offset_h"], 0) * 60 + np.maximum(fields["offset_m"], 0)
    return np.where(fields.flags["west"], -minutes, minutes) * 60 * MICROSECONDS, stated
