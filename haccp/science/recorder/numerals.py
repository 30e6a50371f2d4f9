"""Cells to numbers: decimal point or comma, marks for a missing reading, and cells that are neither."""

import re
from dataclasses import dataclass

import numpy as np

from haccp.science.recorder.cells import BoolArray, ByteMatrix, Cells, IntArray
from haccp.science.trace import FloatArray

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_MARK = re.compile(
    r"[-*#?./ _]*"
    r"|[+-]?(?:nan|ol|o\.l\.?|err(?:or)?(?:\s*[0-9]+)?|n/?a|null|none|nil|open|fault|break|missing|inval(?:id)?)",
    re.IGNORECASE,
)
# Up to 15 digits an integer is exact in float64, and so its quotient by a power of ten is the nearest float:
# the same value that float() gives for the text.
_EXACT_DIGITS = 15


@dataclass(frozen=True, slots=True)
class Numbers:
    """values: (n,), NaN where missing or faulty. missing, faulty, comma (decimal comma), point: (n,) each."""

    values: FloatArray
    missing: BoolArray
    faulty: BoolArray
    comma: BoolArray
    point: BoolArray


def is_number(text: str) -> bool:
    return _NUMBER.fullmatch(text) is not None


def is_missing_mark(text: str) -> bool:
    """True for an empty cell, too."""
    return _MARK.fullmatch(text) is not None


def read_numbers(cells: Cells) -> Numbers:
    """Read a whole column; nothing is raised, faulty cells are marked."""
    columns = np.ascontiguousarray(cells.matrix.T)
    points, commas = columns == ord("."), columns == ord(",")
    values, plain = _plain_decimals(columns, points | commas)
    missing, faulty = np.zeros(len(cells), dtype=bool), np.zeros(len(cells), dtype=bool)
    _read_odd_cells(cells, np.flatnonzero(~plain), values, missing, faulty)
    legible = ~(missing | faulty)
    return Numbers(values, missing, faulty, commas.any(axis=0) & legible, points.any(axis=0) & legible)


def _plain_decimals(columns: ByteMatrix, marks: BoolArray) -> tuple[FloatArray, BoolArray]:
    """columns, marks: shape (width, n). Returns the values, and which cells are plain decimals such as -63.15."""
    count = columns.shape[1]
    mantissa = np.zeros(count, dtype=np.int64)
    digits, decimals = np.zeros(count, dtype=np.uint8), np.zeros(count, dtype=np.uint8)
    after_mark = np.zeros(count, dtype=bool)
    signed = (columns[0] == ord("-")) | (columns[0] == ord("+"))
    plain = np.ones(count, dtype=bool)
    for position, (column, mark) in enumerate(zip(columns, marks, strict=True)):
        digit = column - np.uint8(48)
        is_digit = digit < 10
        padding = column == 0
        allowed = is_digit | padding | (mark & ~after_mark)
        plain &= (allowed | signed) if position == 0 else allowed
        mantissa = np.where(is_digit, mantissa * 10 + digit, mantissa)
        digits += is_digit
        decimals += is_digit & after_mark
        after_mark |= mark
    plain &= (digits > 0) & (digits <= _EXACT_DIGITS) & ~(after_mark & (decimals == 0))
    powers = 10.0 ** np.arange(_EXACT_DIGITS + 1)
    values = mantissa / powers[np.minimum(decimals, _EXACT_DIGITS)]
    np.negative(values, out=values, where=columns[0] == ord("-"))
    return values, plain


def _read_odd_cells(cells: Cells, rows: IntArray, values: FloatArray, missing: BoolArray, faulty: BoolArray) -> None:
    """Fill values, missing and faulty at `rows`: missing marks, exponents, and what is no number at all."""
    seen: dict[bytes, tuple[float, bool, bool]] = {}
    for row in rows:
        key = cells.matrix[row].tobytes()
        if key not in seen:
            seen[key] = _read_odd_cell(cells.text(row))
        values[row], missing[row], faulty[row] = seen[key]


def _read_odd_cell(text: str) -> tuple[float, bool, bool]:
    if is_missing_mark(text):
        return np.nan, True, False
    if is_number(text):
        value = float(text.replace(",", "."))
        return (value, False, False) if np.isfinite(value) else (np.nan, False, True)
    return np.nan, False, True
