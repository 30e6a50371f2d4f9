"""Fewer points, the same picture: a recorder's 10⁶ samples drawn through a few hundred columns of pixels."""

import numpy as np
from numpy.typing import NDArray

from haccp.drawing.picture import FloatArray


def thin(t: FloatArray, values: FloatArray, columns: int) -> NDArray[np.intp]:
    """Indexes that draw the same line: of each column of equal time the first, last, lowest and highest sample.

    t: shape (n,), increasing. values: shape (n,), finite. columns ≥ 1. Returns increasing indexes, the first and
    the last sample among them. No extreme is lost: a dip of one sample below a limit is still drawn.
    """
    if t.size <= 4 * columns:
        return np.arange(t.size, dtype=np.intp)
    column = np.minimum((t - t[0]) * (columns / (t[-1] - t[0])), columns - 1).astype(np.intp)
    starts = np.flatnonzero(np.diff(column, prepend=-1))
    ends = np.append(starts[1:], t.size) - 1
    lowest = _first_of(values, np.minimum.reduceat(values, starts), starts)
    highest = _first_of(values, np.maximum.reduceat(values, starts), starts)
    return np.unique(np.concatenate((starts, ends, lowest, highest)))


def _first_of(values: FloatArray, extremes: FloatArray, starts: NDArray[np.intp]) -> NDArray[np.intp]:
    """Of each stretch that begins at starts the index of the first sample that equals its extreme."""
    lengths = np.diff(starts, append=values.size)
    equal = np.flatnonzero(values == np.repeat(extremes, lengths))
    return equal[np.searchsorted(equal, starts)]


def unbroken(t: FloatArray, values: FloatArray, longest_gap: float | None) -> list[slice]:
    """Slices between which the record is broken: by a missing sample (NaN) or by more than longest_gap of silence.

    A line drawn across silence would claim what nobody measured.
    """
    finite = np.flatnonzero(np.isfinite(values))
    if not finite.size:
        return []
    broken = np.diff(finite) > 1
    if longest_gap is not None:
        broken |= np.diff(t[finite]) > longest_gap
    cuts = np.flatnonzero(broken)
    firsts = finite[np.append(0, cuts + 1)]
    lasts = finite[np.append(cuts, finite.size - 1)]
    return [slice(int(first), int(last) + 1) for first, last in zip(firsts, lasts, strict=True)]
