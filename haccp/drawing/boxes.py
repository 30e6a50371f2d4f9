"""Room for labels: rectangles that must not overlap, and three ways of finding them a place."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.drawing.picture import Anchor, FloatArray, Text
from haccp.drawing.typeface import text_width

ASCENT, DESCENT = 0.76, 0.24  # of the size: what accents and descenders of the typeface really use


@dataclass(frozen=True, slots=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box") -> bool:
        apart_in_x = self.left >= other.right or other.left >= self.right
        return not (apart_in_x or self.top >= other.bottom or other.top >= self.bottom)

    def inside(self, other: "Box") -> bool:
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )

    def covers(self, points: FloatArray) -> int:
        """How many of the points, shape (n, 2), lie within."""
        x, y = points[:, 0], points[:, 1]
        return int(np.count_nonzero((x > self.left) & (x < self.right) & (y > self.top) & (y < self.bottom)))


def box_of(text: Text) -> Box:
    """The room that an unrotated text takes."""
    width = text_width(text.text, text.size, bold=text.bold)
    left = text.x - {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[text.anchor]
    return Box(left, text.y - ASCENT * text.size, left + width, text.y + DESCENT * text.size)


def spread(wanted: Sequence[float], heights: Sequence[float], top: float, bottom: float) -> list[float]:
    """Centres as near to the wanted ones as possible, so that labels in one column do not overlap.

    The labels stay between top and bottom if their heights allow it; their order is that of the wanted places.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    clusters: list[list[int]] = []

    def place(cluster: list[int]) -> float:
        """Top of a cluster that lies best around the places its labels want."""
        offset, total = 0.0, 0.0
        for i in cluster:
            total += wanted[i] - (offset + heights[i] / 2)
            offset += heights[i]
        return max(top, min(total / len(cluster), bottom - offset))

    def end(cluster: list[int]) -> float:
        return place(cluster) + sum(heights[i] for i in cluster)

    for i in order:
        clusters.append([i])
        while len(clusters) > 1 and end(clusters[-2]) > place(clusters[-1]):
            last = clusters.pop()
            clusters[-1].extend(last)
    centres = [0.0] * len(wanted)
    for cluster in clusters:
        y = place(cluster)
        for i in cluster:
            centres[i] = y + heights[i] / 2
            y += heights[i]
    return centres


@dataclass(frozen=True, slots=True)
class Flag:
    """row: 0 is nearest to what the flag marks. left: where its label begins."""

    row: int
    left: float


def stagger(anchors: Sequence[float], widths: Sequence[float], left: float, right: float, gap: float) -> list[Flag]:
    """Rows for labels that fly like flags from staffs at the anchors, so that none overlaps another.

    Going from right to left, every flag flies to the right of its staff, above all that its label would meet, so
    that no staff runs through a label. Only a flag with no room to the right is moved left, over its own staff; a
    staff further left then passes behind it.
    """
    flags: dict[int, Flag] = {}
    for i in sorted(range(len(anchors)), key=lambda i: -anchors[i]):
        start = max(left, min(anchors[i], right - widths[i]))
        row = 0
        end = start + widths[i]
        for j, other in flags.items():
            near = other.left < end + gap and start < other.left + widths[j] + gap
            under_its_staff = start - gap < anchors[j] < end + gap
            if near or under_its_staff:
                row = max(row, other.row + 1)
        flags[i] = Flag(row, start)
    return [flags[i] for i in range(len(anchors))]
