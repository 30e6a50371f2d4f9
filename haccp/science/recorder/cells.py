"""One column of a file as a matrix of bytes: what lets 86,400 cells be read at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ByteMatrix = NDArray[np.uint8]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

# No number or time is longer; a longer cell is cut and marked so that it cannot pass for either.
MAX_WIDTH = 40
_CUT = ord("~")


@dataclass(frozen=True, slots=True)
class Cells:
    """matrix: shape (n, width), each row the UTF-8 text of one cell, left-aligned, padded with NUL."""

    matrix: ByteMatrix

    def __len__(self) -> int:
        return int(self.matrix.shape[0])

    def text(self, row: int) -> str:
        return bytes(self.matrix[row]).rstrip(b"\0").decode(errors="replace")


def from_texts(texts: list[str]) -> Cells:
    """The cells of a column that was split one line at a time; texts are stripped."""
    encoded = [text.encode() for text in texts]
    width = max(1, min(MAX_WIDTH, max(map(len, encoded), default=1)))
    short = [cell if len(cell) <= width else cell[: width - 1] + bytes([_CUT]) for cell in encoded]
    packed = np.array(short, dtype=f"S{width}")
    return Cells(packed.view(np.uint8).reshape(len(texts), width))


def from_buffer(buffer: ByteMatrix, starts: IntArray, ends: IntArray) -> Cells:
    """The cells buffer[starts:ends], stripped of spaces. buffer: shape (b,), with MAX_WIDTH bytes to spare."""
    starts, ends = _stripped(buffer, starts, ends)
    lengths = ends - starts
    longest = int(lengths.max(initial=0))
    width = max(1, min(MAX_WIDTH, longest))
    windows = np.lib.stride_tricks.sliding_window_view(buffer, width)
    matrix = windows[starts]
    if int(lengths.min(initial=longest)) < width:
        matrix[np.arange(width) >= lengths[:, None]] = 0
    if longest > width:
        matrix[lengths > width, -1] = _CUT
    return Cells(matrix)


def _stripped(buffer: ByteMatrix, starts: IntArray, ends: IntArray) -> tuple[IntArray, IntArray]:
    space = ord(" ")
    while (padded := (buffer[starts] == space) & (starts < ends)).any():
        starts = starts + padded
    while (padded := (buffer[ends - 1] == space) & (starts < ends)).any():
        ends = ends - padded
    return starts, ends
