"""The rows under the heads as columns of cells, each row with the number of its line."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from haccp.science.errors import InputError
from haccp.science.recorder import messages
from haccp.science.recorder.cells import MAX_WIDTH, ByteMatrix, Cells, IntArray, from_buffer, from_texts

_NEWLINE = ord("\n")
_QUOTE = ord('"')
_SAMPLE = 20


class Table(Protocol):
    """lines: (n,), 1-based. cells(j): column j, made when it is asked for. from_the_end: the last row first."""

    @property
    def lines(self) -> IntArray: ...

    def cells(self, column: int) -> Cells: ...

    def row(self, index: int) -> list[str]: ...

    def from_the_end(self) -> "Table": ...


@dataclass(frozen=True, slots=True)
class _RegularTable:
    """Every line has the same number of fields, quoted plainly if at all: the fields are found all at once.

    starts, ends: shape (n, fields), offsets into buffer.
    """

    lines: IntArray
    buffer: ByteMatrix
    starts: IntArray
    ends: IntArray

    def cells(self, column: int) -> Cells:
        return from_buffer(self.buffer, self.starts[:, column], self.ends[:, column])

    def row(self, index: int) -> list[str]:
        spans = zip(self.starts[index], self.ends[index], strict=True)
        return [self.buffer[start:end].tobytes().decode(errors="replace").strip() for start, end in spans]

    def from_the_end(self) -> "_RegularTable":
        return _RegularTable(self.lines[::-1], self.buffer, self.starts[::-1], self.ends[::-1])


@dataclass(frozen=True, slots=True)
class _IrregularTable:
    """Rows split one line at a time: blank lines, quotation marks within fields, lines of unequal fields."""

    lines: IntArray
    rows: list[list[str]]

    def cells(self, column: int) -> Cells:
        return from_texts([row[column].strip() for row in self.rows])

    def row(self, index: int) -> list[str]:
        return [field.strip() for field in self.rows[index]]

    def from_the_end(self) -> "_IrregularTable":
        return _IrregularTable(self.lines[::-1], self.rows[::-1])


def sample(table: Table) -> list[list[str]]:
    """The first rows as text, to tell by what their columns hold."""
    return [table.row(index) for index in range(min(_SAMPLE, table.lines.size))]


def read_rows(body: bytes, *, first_line: int, delimiter: str, count: int) -> Table:
    """Split the lines under the heads into `count` columns.

    Raises InputError naming the first line with too few or too many fields.
    """
    return _regular(body, first_line, delimiter, count) or _irregular(body, first_line, delimiter, count)


def _regular(body: bytes, first_line: int, delimiter: str, count: int) -> _RegularTable | None:
    body = body.rstrip(b"\n")
    if not body:
        return None
    buffer = np.frombuffer(body + b"\n" + bytes(MAX_WIDTH), dtype=np.uint8)
    stops = _field_ends(buffer, ord(delimiter))
    height = int(np.count_nonzero(buffer[stops] == _NEWLINE))
    fields = stops.size // max(height, 1)
    if not height or stops.size % height or fields < count:
        return None
    ends = stops.reshape(height, fields)
    if not (buffer[ends[:, -1]] == _NEWLINE).all():
        return None
    starts = np.concatenate(([0], stops[:-1] + 1)).reshape(height, fields)
    if (starts[:, count:] != ends[:, count:]).any():
        return None
    if _QUOTE in buffer:
        starts, ends = _inside_quotes(buffer, starts, ends)
    return _RegularTable(np.arange(first_line, first_line + height), buffer, starts, ends)


def _field_ends(buffer: ByteMatrix, delimiter: int) -> IntArray:
    """Where fields end, delimiters between quotation marks passed over; empty where quoting is not plain.

    Plain: each quotation mark stands at the edge of its field, and no line ends within a pair.
    """
    breaks = (buffer == delimiter) | (buffer == _NEWLINE)
    is_quote = buffer == _QUOTE
    if not is_quote.any():
        return np.flatnonzero(breaks)
    quotes = np.flatnonzero(is_quote)
    opened, closed = quotes[0::2], quotes[1::2]
    within = (np.cumsum(is_quote, dtype=np.uint8) & 1).astype(bool)
    plain = (
        opened.size == closed.size
        and bool((breaks[opened - 1] | (opened == 0)).all())
        and bool(breaks[closed + 1].all())
        and not bool((within & (buffer == _NEWLINE)).any())
    )
    return np.flatnonzero(breaks & ~within) if plain else np.array([], dtype=np.int64)


def _inside_quotes(buffer: ByteMatrix, starts: IntArray, ends: IntArray) -> tuple[IntArray, IntArray]:
    quoted = (buffer[starts] == _QUOTE) & (starts < ends)
    return starts + quoted, ends - quoted


def _irregular(body: bytes, first_line: int, delimiter: str, count: int) -> _IrregularTable:
    lines: list[int] = []
    rows: list[list[str]] = []
    for line, row in _split(body, first_line, delimiter):
        if not any(field.strip() for field in row):
            continue
        while len(row) > count and not row[-1].strip():
            row.pop()
        if len(row) != count:
            raise _wrong_count(line, len(row), count, delimiter)
        lines.append(line)
        rows.append(row)
    return _IrregularTable(np.array(lines, dtype=np.int64), rows)


def _split(body: bytes, first_line: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    texts = body.decode(errors="replace").split("\n")
    reader = csv.reader(texts, delimiter=delimiter, skipinitialspace=True, strict=True)
    while True:
        line = first_line + reader.line_num
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise messages.quote_not_closed(line) from None
        yield line, row


def _wrong_count(line: int, found: int, wanted: int, delimiter: str) -> InputError:
    if found < wanted:
        return messages.too_few_fields(line, found, wanted)
    if delimiter == "," and found == 2 * wanted - 1:
        return messages.unquoted_decimal_commas(line, found, wanted)
    return messages.too_many_fields(line, found, wanted)
