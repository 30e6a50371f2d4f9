"""A picture as data: marks on a sheet whose origin is the top left corner, y pointing down.

Marks carry a role, never a colour: what they look like is the business of each back end.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from haccp.drawing.roles import Role

FloatArray = NDArray[np.float64]


class Anchor(StrEnum):
    START = "start"
    MIDDLE = "middle"
    END = "end"


class Shape(StrEnum):
    """Markers that stay apart in black and white."""

    DISC = "disc"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"


Dash = tuple[float, ...]
SOLID: Dash = ()
DASHED: Dash = (7.0, 4.0)
DOTTED: Dash = (2.0, 3.0)
DASH_DOT: Dash = (9.0, 3.0, 2.0, 3.0)


@dataclass(frozen=True, slots=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    role: Role
    dash: Dash = SOLID


@dataclass(frozen=True, slots=True, eq=False)
class Polyline:
    """points: shape (n, 2), n ≥ 2."""

    points: FloatArray
    role: Role
    dash: Dash = SOLID


@dataclass(frozen=True, slots=True, eq=False)
class Polygon:
    """points: shape (n, 2), n ≥ 3. hollow: outlined on white, not filled. hatch: filled with slanted lines."""

    points: FloatArray
    role: Role
    hollow: bool = False
    hatch: bool = False


@dataclass(frozen=True, slots=True)
class Rect:
    """hollow and hatch as for Polygon; radius: of the corners."""

    x: float
    y: float
    width: float
    height: float
    role: Role
    hollow: bool = False
    hatch: bool = False
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float
    role: Role
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """y: the baseline. rotate: degrees clockwise about (x, y). halo: a white edge, to be read on lines."""

    x: float
    y: float
    text: str
    size: float
    role: Role = Role.LABEL
    anchor: Anchor = Anchor.START
    bold: bool = False
    rotate: float = 0.0
    halo: bool = False


@dataclass(frozen=True, slots=True)
class Path:
    """steps: ("M", x, y), ("L", x, y), ("C", x1, y1, x2, y2, x, y) or ("Z",). filled: an area, else a stroke."""

    steps: tuple[tuple[str | float, ...], ...]
    role: Role
    dash: Dash = SOLID
    filled: bool = False


Item = Line | Polyline | Polygon | Rect | Circle | Text | Path


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """width, height: natural size, one unit = one CSS pixel. description: says in words what the picture shows."""

    width: float
    height: float
    title: str
    description: str
    items: tuple[Item, ...]


def points(pairs: Iterable[tuple[float, float]]) -> FloatArray:
    """Pairs of coordinates as an array of shape (n, 2)."""
    return np.array(list(pairs), dtype=np.float64).reshape(-1, 2)


def marker(shape: Shape, x: float, y: float, radius: float, role: Role, *, hollow: bool = False) -> Item:
    """One marker centred on (x, y), of about the same visual weight for every shape."""
    r = radius
    if shape is Shape.DISC:
        return Circle(x, y, r, role, hollow)
    if shape is Shape.SQUARE:
        return Rect(x - 0.9 * r, y - 0.9 * r, 1.8 * r, 1.8 * r, role, hollow)
    if shape is Shape.TRIANGLE:
        corners = [(x, y - 1.3 * r), (x + 1.2 * r, y + 0.9 * r), (x - 1.2 * r, y + 0.9 * r)]
    else:
        corners = [(x, y - 1.3 * r), (x + 1.3 * r, y), (x, y + 1.3 * r), (x - 1.3 * r, y)]
    return Polygon(points(corners), role, hollow)
