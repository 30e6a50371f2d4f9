"""A picture as vectors in a PDF, by ReportLab: the same marks as on the page."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Literal

from reportlab.lib.colors import HexColor, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.flowables import Flowable

from haccp.drawing.picture import (
    Anchor,
    Circle,
    Dash,
    FloatArray,
    Item,
    Line,
    Path,
    Picture,
    Polygon,
    Polyline,
    Rect,
    Text,
)
from haccp.drawing.roles import INKS, Role
from haccp.drawing.scripts import set_for_ink
from haccp.drawing.svg import HATCH_PITCH
from haccp.drawing.typeface import BOLD, REGULAR

HALO_WIDTH = 3.0
_ink = lru_cache(maxsize=64)(HexColor)
FILL: Literal[0] = 0
STROKE_AND_FILL: Literal[2] = 2


class PictureFlowable(Flowable):
    """A picture in a story, as wide as the frame or as `width` (points), its proportions kept.

    font, bold_font: names of fonts registered with ReportLab (typeface.register_typeface registers ours).
    """

    def __init__(
        self, picture: Picture, width: float | None = None, font: str = REGULAR, bold_font: str = BOLD
    ) -> None:
        super().__init__()
        self.picture, self.wanted_width = picture, width
        self.font, self.bold_font = font, bold_font

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width = self.wanted_width or available_width
        self.height = self.width * self.picture.height / self.picture.width
        return self.width, self.height

    def draw(self) -> None:
        draw_picture(self.canv, self.picture, self.width, font=self.font, bold_font=self.bold_font)


def draw_picture(canvas: Canvas, picture: Picture, width: float, *, font: str = REGULAR, bold_font: str = BOLD) -> None:
    """Draw with the lower left corner at the canvas' origin, `width` points wide."""
    scale = width / picture.width
    canvas.saveState()
    canvas.scale(scale, scale)
    canvas.setLineJoin(1)
    pen = _Pen(canvas, picture.height, font, bold_font)
    for item in picture.items:
        pen.draw(item)
    canvas.restoreState()


class _Pen:
    """Turns y round by arithmetic, not by the matrix, so that text stays upright."""

    def __init__(self, canvas: Canvas, height: float, font: str, bold_font: str) -> None:
        self.canvas, self.height = canvas, height
        self.font, self.bold_font = font, bold_font

    def draw(self, item: Item) -> None:
        getattr(self, f"_{type(item).__name__.lower()}")(item)

    def _stroke(self, role: Role, dash: Dash = ()) -> None:
        self.canvas.setStrokeColor(_ink(INKS[role].line))
        self.canvas.setLineWidth(INKS[role].width)
        self.canvas.setDash(list(dash))

    def _line(self, item: Line) -> None:
        self._stroke(item.role, item.dash)
        self.canvas.line(item.x1, self.height - item.y1, item.x2, self.height - item.y2)

    def _trail(self, points: FloatArray) -> Any:
        """To a hundredth of a unit of the picture, all points in one piece of text."""
        path: Any = self.canvas.beginPath()
        flipped = points.copy()
        flipped[:, 1] = self.height - flipped[:, 1]
        path.moveTo(*flipped[0].tolist())
        if len(flipped) > 1:
            path._code_append(("%.2f %.2f l " * (len(flipped) - 1) % tuple(flipped[1:].ravel().tolist())).rstrip())
        return path

    def _polyline(self, item: Polyline) -> None:
        self._stroke(item.role, item.dash)
        self.canvas.drawPath(self._trail(item.points), stroke=1, fill=0)

    def _surface(self, item: Polygon | Rect | Circle) -> dict[str, int]:
        self._stroke(item.role)
        self.canvas.setFillColor(white if item.hollow else _ink(INKS[item.role].area))
        return {"stroke": int(item.hollow), "fill": 1}

    def _polygon(self, item: Polygon) -> None:
        path = self._trail(item.points)
        path.close()
        self.canvas.drawPath(path, **self._surface(item))
        if item.hatch:
            lowest, highest = item.points.min(axis=0), item.points.max(axis=0)
            self._hatch(path, item.role, (*lowest.tolist(), *highest.tolist()))

    def _rect(self, item: Rect) -> None:
        how = self._surface(item)
        bottom = self.height - item.y - item.height
        path = self.canvas.beginPath()
        if item.radius:
            path.roundRect(item.x, bottom, item.width, item.height, item.radius)
        else:
            path.rect(item.x, bottom, item.width, item.height)
        self.canvas.drawPath(path, **how)
        if item.hatch:
            self._hatch(path, item.role, (item.x, item.y, item.x + item.width, item.y + item.height))

    def _hatch(self, outline: Any, role: Role, bounds: tuple[float, float, float, float]) -> None:
        """Lines that fall to the right at 45°, in step over the whole sheet so that neighbours join."""
        left, top, right, bottom = bounds
        self.canvas.saveState()
        self.canvas.clipPath(outline, stroke=0, fill=0)
        self._stroke(role)
        pitch = HATCH_PITCH * 2**0.5
        lines = self.canvas.beginPath()
        first = int((left + top) // pitch)
        for i in range(first, int((right + bottom) // pitch) + 2):
            lines.moveTo(i * pitch - top, self.height - top)
            lines.lineTo(i * pitch - bottom, self.height - bottom)
        self.canvas.drawPath(lines, stroke=1, fill=0)
        self.canvas.restoreState()

    def _circle(self, item: Circle) -> None:
        self.canvas.circle(item.x, self.height - item.y, item.radius, **self._surface(item))

    def _path(self, item: Path) -> None:
        self._stroke(item.role, item.dash)
        self.canvas.setFillColor(_ink(INKS[item.role].area))
        path = self.canvas.beginPath()
        for step in item.steps:
            values = [float(value) for value in step[1:]]
            values[1::2] = [self.height - y for y in values[1::2]]
            moves: dict[str, Callable[..., Any]] = {
                "M": path.moveTo,
                "L": path.lineTo,
                "C": path.curveTo,
                "Z": path.close,
            }
            moves[str(step[0])](*values)
        self.canvas.drawPath(path, stroke=int(not item.filled), fill=int(item.filled))

    def _text(self, item: Text) -> None:
        font = self.bold_font if item.bold else self.font
        ink = set_for_ink(item.text)
        width = self.canvas.stringWidth(ink, font, item.size)
        self.canvas.saveState()
        self.canvas.translate(item.x, self.height - item.y)
        self.canvas.rotate(-item.rotate)
        left = -{Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[item.anchor]
        if item.halo:
            self.canvas.setDash([])
            self._words(ink, left, font, item.size, white, STROKE_AND_FILL)
        self._words(ink, left, font, item.size, _ink(INKS[item.role].line), FILL)
        self.canvas.restoreState()

    def _words(self, text: str, left: float, font: str, size: float, colour: Any, mode: Literal[0, 2]) -> None:
        words = self.canvas.beginText(left, 0)
        words.setFont(font, size)
        words.setFillColor(colour)
        words.setStrokeColor(colour)
        words.setTextRenderMode(mode)
        self.canvas.setLineWidth(HALO_WIDTH)
        words.textOut(text)
        words.setTextRenderMode(FILL)  # the next text object takes it for granted
        self.canvas.drawText(words)
