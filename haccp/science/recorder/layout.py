"""Where the table begins: header block, line of column heads, mark between fields."""

import csv
from collections import Counter
from dataclasses import dataclass
from itertools import zip_longest

from haccp.science.errors import InputError
from haccp.science.recorder import columns, messages, stamps

DELIMITERS = (";", "\t", ",")
_MAX_HEADER_LINES = 5_000


@dataclass(frozen=True, slots=True)
class Layout:
    """heads: with the units of a line of units under them, trailing empty ones removed. Lines are 1-based.

    body_start: offset in bytes of the line body_line, the first under the heads.
    """

    delimiter: str
    heads: list[str]
    heads_line: int
    body_line: int
    body_start: int
    header: dict[str, str]
    header_lines: list[str]


@dataclass(frozen=True, slots=True)
class _Candidate:
    delimiter: str
    heads: list[str]
    line: int  # 0-based, as next_line
    next_line: int
    rank: tuple[int, int]


def split_line(line: str, delimiter: str) -> list[str]:
    """The stripped fields of one line; a quotation mark that is not closed is let pass here."""
    if '"' not in line:
        return [field.strip() for field in line.split(delimiter)]
    return [field.strip() for field in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def find_layout(text: bytes) -> Layout:
    """Find the heads: a line of names, best with a time and a temperature among them, over a row of values.

    Raises InputError where there are none.
    """
    raw = text.split(b"\n", _MAX_HEADER_LINES)
    cut = len(raw) > _MAX_HEADER_LINES
    lines = [line.decode(errors="replace") for line in (raw[:_MAX_HEADER_LINES] if cut else raw)]
    best = _best_candidate(lines)
    if best is None:
        raise _why_no_heads(lines, cut)
    start = sum(len(line) + 1 for line in raw[: best.next_line])
    above = lines[: best.line]
    header = read_header(above, best.delimiter)
    return Layout(best.delimiter, best.heads, best.line + 1, best.next_line + 1, start, header, above)


def _best_candidate(lines: list[str]) -> _Candidate | None:
    best: _Candidate | None = None
    for line in range(len(lines)):
        for delimiter in DELIMITERS:
            found = _candidate(lines, line, delimiter)
            if found and (best is None or found.rank > best.rank):
                best = found
        if best and best.rank[0] == _CERTAIN:
            return best
    return best


_CERTAIN = 3


def _candidate(lines: list[str], line: int, delimiter: str) -> _Candidate | None:
    if delimiter not in lines[line]:
        return None
    heads = split_line(lines[line].lstrip("#"), delimiter)
    while heads and not heads[-1]:
        heads.pop()
    named = [head for head in heads if head]
    if len(named) < 2 or any(map(columns.is_value, named)):
        return None
    under, row = _row_under(lines, line, delimiter)
    if row and _is_units(row, len(heads)):
        heads = [_with_unit(head, unit) for head, unit in zip_longest(heads, row[: len(heads)], fillvalue="")]
        next_line = under + 1
        _, row = _row_under(lines, under, delimiter)
    else:
        next_line = line + 1
    tells = any(map(columns.names_time, heads)) and any(map(columns.names_temperature, heads))
    holds = _holds_readings(row, len(heads))
    if not tells and not holds:
        return None
    rank = _CERTAIN if tells and holds else 2 if holds and _has_time(row) else 1
    return _Candidate(delimiter, heads, line, next_line, (rank, len(heads)))


def _with_unit(head: str, unit: str) -> str:
    return f"{head} ({unit.strip('()[] ')})" if unit else head


def _row_under(lines: list[str], line: int, delimiter: str) -> tuple[int, list[str]]:
    for under in range(line + 1, min(line + 10, len(lines))):
        if lines[under].strip():
            return under, split_line(lines[under], delimiter)
    return line, []


def _is_units(row: list[str], count: int) -> bool:
    given = [cell for cell in row if cell]
    return count - 1 <= len(row) <= count + 1 and bool(given) and all(map(columns.is_unit, given))


def _holds_readings(row: list[str], count: int) -> bool:
    while len(row) > count and not row[-1]:
        row = row[:-1]
    values = [cell for cell in row if columns.is_value(cell)]
    return len(row) == count and len(values) >= 2 and any(values)


def _has_time(row: list[str]) -> bool:
    return any(stamps.is_stamp(cell) or stamps.is_clock(cell) for cell in row)


def _why_no_heads(lines: list[str], cut: bool) -> InputError:
    for number, line in enumerate(lines, start=1):
        for delimiter in DELIMITERS:
            row = split_line(line, delimiter)
            if len(row) >= 2 and _has_time(row[:1]) and all(map(columns.is_value, row)):
                return messages.no_heads(number)
    if cut:
        return messages.header_too_long(_MAX_HEADER_LINES)
    while len(lines) > 1 and not lines[-1].strip():
        lines = lines[:-1]
    return messages.ends_in_header(len(lines))


def read_header(lines: list[str], delimiter: str) -> dict[str, str]:
    """Key and value of each line above the heads; a line with no value is kept as a key with an empty value."""
    header: dict[str, str] = {}
    times: Counter[str] = Counter()
    for line in lines:
        bare = line.strip().lstrip("#").strip()
        if not bare.strip(delimiter + " "):
            continue
        key, value = _key_and_value(bare, delimiter)
        times[key] += 1
        header[key if times[key] == 1 else f"{key} ({times[key]})"] = value
    return header


def _key_and_value(line: str, delimiter: str) -> tuple[str, str]:
    fields = split_line(line, delimiter)
    if len(fields) > 1:
        return fields[0].rstrip(":= "), " ".join(field for field in fields[1:] if field)
    for mark in ("=", ":"):
        key, found, value = line.partition(mark)
        if found and not columns.is_value(line):
            return key.strip(), value.strip()
    return line, ""
