"""The rows under the heads as columns of cells, each row with the number of its line."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from haccp.science.errors import InputError
from haccp.science.recorder import messages, numerals
from haccp.science.recorder.cells import MAX_WIDTH, ByteMatrix, Cells, IntArray, from_buffer, from_texts
from haccp.science.recorder.layout import split_line

_NEWLINE = ord("\n")
_SAMPLE = 20


class Table(Protocol):
    """lines: (n,), 1-based. cells(j): column j, made when it is asked for."""

    @property
    def lines(self) -> IntArray: ...

    def cells(self, column: int) -> Cells: ...

    def row(self, index: int) -> list[str]: ...


@dataclass(frozen=True, slots=True)
class _RegularTable:
    """Every line has the same number of fields and no quotation marks: the fields are found all at once.

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


@dataclass(frozen=True, slots=True)
class _IrregularTable:
    """Rows split one line at a time: quoted fields, blank lines, fields to spare at the end."""

    lines: IntArray
    rows: list[list[str]]

    def cells(self, column: int) -> Cells:
        return from_texts([row[column].strip() for row in self.rows])

    def row(self, index: int) -> list[str]:
        return [field.strip() for field in self.rows[index]]


def sample(table: Table) -> list[list[str]]:
    """The first rows as text, to tell by what their columns hold."""
    return [table.row(index) for index in range(min(_SAMPLE, table.lines.size))]


def read_rows(body: bytes, *, first_line: int, delimiter: str, count: int) -> Table:
    """Split the lines under the heads into `count` columns.

    Raises InputError naming the first line with too few or too many fields.
    """
    return _regular(body, first_line, delimiter, count) or _irregular(body, first_line, delimiter, count)


def without_cut_line(body: bytes, *, first_line: int, delimiter: str, count: int) -> tuple[bytes, tuple[str, ...]]:
    """The body without a last line that was cut in its middle, and a note that says so.

    A last line with its line end is whole. Without one, it is cut where it lacks fields, or where its last field
    is shorter than the last field of the line before.
    """
    kept, _, last = body.rpartition(b"\n")
    if not last.strip():
        return body, ()
    before = kept[kept.rfind(b"\n") + 1 :].decode(errors="replace")
    if not _is_cut(last.decode(errors="replace"), before, delimiter, count):
        return body, ()
    return kept, (messages.note_cut_line(first_line + body.count(b"\n")),)


def _is_cut(last: str, before: str, delimiter: str, count: int) -> bool:
    fields, model = split_line(last, delimiter), split_line(before, delimiter)
    if last.count('"') % 2 or len(fields) < max(count, len(model)):
        return True
    return len(model) == len(fields) and _is_shorter(fields[-1], model[-1])


def _is_shorter(field: str, model: str) -> bool:
    if numerals.is_number(field) and numerals.is_number(model):
        decimals, wanted = _decimals(field), _decimals(model)
        return decimals < wanted or (wanted == 0 and len(field) < len(model))
    if numerals.is_number(model):
        return not field or not numerals.is_missing_mark(field)
    return len(field) < len(model) and not numerals.is_number(field)


def _decimals(number: str) -> int:
    return len(number.replace(",", ".").partition(".")[2])


def _regular(body: bytes, first_line: int, delimiter: str, count: int) -> _RegularTable | None:
    body = body.rstrip(b"\n")
    if not body or b'"' in body:
        return None
    buffer = np.frombuffer(body + b"\n" + bytes(MAX_WIDTH), dtype=np.uint8)
    stops = np.flatnonzero((buffer == ord(delimiter)) | (buffer == _NEWLINE))
    height = int(np.count_nonzero(buffer[stops] == _NEWLINE))
    fields = stops.size // height
    if stops.size % height or fields < count:
        return None
    ends = stops.reshape(height, fields)
    if not (buffer[ends[:, -1]] == _NEWLINE).all():
        return None
    starts = np.concatenate(([0], stops[:-1] + 1)).reshape(height, fields)
    if (starts[:, count:] != ends[:, count:]).any():
        return None
    return _RegularTable(np.arange(first_line, first_line + height), buffer, starts, ends)


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
