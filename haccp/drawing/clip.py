"""The part of a line that lies on the plot."""

from itertools import pairwise

import numpy as np

from haccp.drawing.boxes import Box
from haccp.drawing.picture import FloatArray


def clip(points: FloatArray, box: Box) -> list[FloatArray]:
    """Pieces, each of shape (n, 2), n ≥ 2, of a polyline within a box (Liang–Barsky, segment by segment)."""
    low, high = np.array([box.left, box.top]), np.array([box.right, box.bottom])
    if bool(np.all((points >= low) & (points <= high))):
        return [points]
    pieces: list[list[FloatArray]] = []
    for start, end in pairwise(points):
        part = _segment(start, end, low, high)
        if part is None:
            continue
        if pieces and np.allclose(pieces[-1][-1], part[0]):
            pieces[-1].append(part[1])
        else:
            pieces.append(list(part))
    return [np.array(piece) for piece in pieces]


def _segment(
    start: FloatArray, end: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    enter, leave = 0.0, 1.0
    step = end - start
    for axis in (0, 1):
        if step[axis] == 0:
            if not low[axis] <= start[axis] <= high[axis]:
                return None
            continue
        near, far = sorted(((low[axis] - start[axis]) / step[axis], (high[axis] - start[axis]) / step[axis]))
        enter, leave = max(enter, float(near)), min(leave, float(far))
    return (start + enter * step, start + leave * step) if enter <= leave else None
