"""Free places on a plot: where a label can stand beside its point without hiding a line or another label."""

import numpy as np

from haccp.drawing.boxes import ASCENT, DESCENT, Box
from haccp.drawing.picture import FloatArray, Item, Line, Text
from haccp.drawing.roles import Role
from haccp.drawing.typeface import text_width

SAMPLE_EVERY = 3.0
LEADER_FROM = 20.0
REACH = (10.0, 22.0, 36.0, 52.0, 70.0, 92.0)


class Vacancy:
    """plot: where labels may stand. lines: polylines, each shape (n, 2), better not covered."""

    def __init__(self, plot: Box, lines: list[FloatArray]) -> None:
        self.plot = plot
        self.taken: list[Box] = []
        self.written: list[Box] = []
        self.ink = np.vstack([np.empty((0, 2)), *(_sampled(line) for line in lines)])

    def avoid(self, box: Box) -> None:
        self.taken.append(box)

    def avoid_line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        self.ink = np.vstack([self.ink, _sampled(np.array([[x1, y1], [x2, y2]]))])

    def write(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        role: Role,
        *,
        bold: bool = False,
        above_first: bool = True,
    ) -> list[Item]:
        """The label near (x, y), with a leader when it stands off; nothing when no place is free.

        What is left out here is still told by the picture's description and the table beside it.
        """
        if not text:
            return []
        width = text_width(text, size, bold=bold)
        free = [
            (self._cost(box, x, y, i), box)
            for i, box in enumerate(_around(x, y, width, size, above_first))
            if box.inside(self.plot) and not any(box.overlaps(other) for other in self.taken)
        ]
        if not free:
            return []
        _, box = min(free, key=lambda pair: pair[0])
        self.taken.append(box)
        self.written.append(box)
        if leader := _leader(box, x, y):
            self.avoid_line(x, y, *_foot(box, x, y))
        words = Text(box.left, box.bottom - DESCENT * size, text, size, role, bold=bold, halo=True)
        return [*leader, words]

    def _cost(self, box: Box, x: float, y: float, order: int) -> float:
        leader = [_sampled(np.array([[x, y], _foot(box, x, y)]))] if _distance(box, x, y) >= LEADER_FROM else []
        crossed = sum(other.covers(line) for line in leader for other in self.written)
        roomy = Box(box.left - 2, box.top - 2, box.right + 2, box.bottom + 2)
        alone = 12.0 * len(leader)
        return alone + 4.0 * roomy.covers(self.ink) + 8.0 * crossed + 0.3 * _distance(box, x, y) + 0.05 * order


def _sampled(line: FloatArray) -> FloatArray:
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    at = np.arange(0.0, along[-1] + SAMPLE_EVERY, SAMPLE_EVERY)
    return np.column_stack((np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])))


def _around(x: float, y: float, width: float, size: float, above_first: bool) -> list[Box]:
    """Candidate boxes: above and below (right, centred, left of the point), then beside it, ever further away."""
    height = (ASCENT + DESCENT) * size
    boxes = []
    for reach in REACH:
        rows = [y - reach - height + 2, y + reach - 2]
        for top in rows if above_first else rows[::-1]:
            boxes += [_sized(left, top, width, height) for left in (x + 7, x - width / 2, x - width - 7)]
        boxes += [_sized(left, y - height / 2, width, height) for left in (x + reach, x - reach - width)]
    return boxes


def _sized(left: float, top: float, width: float, height: float) -> Box:
    return Box(left, top, left + width, top + height)


def _foot(box: Box, x: float, y: float) -> tuple[float, float]:
    """The point of the box that is nearest to (x, y)."""
    return min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)


def _distance(box: Box, x: float, y: float) -> float:
    return float(np.hypot(max(box.left - x, 0.0, x - box.right), max(box.top - y, 0.0, y - box.bottom)))


def _leader(box: Box, x: float, y: float) -> list[Item]:
    if _distance(box, x, y) < LEADER_FROM:
        return []
    return [Line(x, y, *_foot(box, x, y), Role.EVENT)]
