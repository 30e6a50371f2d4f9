"""Words that are known only when the whole pack is drawn: page numbers in the contents, the number of pages.

Each is a form of its own, placed where it belongs and written at the end, so that a pack is drawn in one pass however
long it is.
"""

from typing import Any

from reportlab.lib.colors import Color
from reportlab.pdfgen.canvas import Canvas

from haccp.drawing.typeface import REGULAR
from haccp.reports.draw.ink import INK

# Half the width and half the height of the box that such words may fill.
ROOM, HEIGHT = 420, 16


def place(canvas: Any, name: str, x: float, y: float) -> None:
    """Puts the words called name with their origin at (x, y)."""
    placed(canvas).add(name)
    canvas.saveState()
    canvas.translate(x, y)
    canvas.doForm(name)
    canvas.restoreState()


def placed(canvas: Any) -> set[str]:
    """Names of all words placed so far; each has to be written before the document is saved."""
    names: set[str] = canvas.__dict__.setdefault("_late_names", set())
    return names


def note_page(canvas: Any, key: str) -> None:
    """Remembers on which page the place called key is being drawn."""
    noted(canvas)[key] = canvas.getPageNumber()


def noted(canvas: Any) -> dict[str, int]:
    pages: dict[str, int] = canvas.__dict__.setdefault("_noted_pages", {})
    return pages


def write(
    canvas: Canvas,
    name: str,
    text: str,
    *,
    font: str = REGULAR,
    size: float = 9.5,
    colour: Color = INK,
    right: bool = False,
) -> None:
    """Says what the words called name are; right: they end at their origin instead of starting there."""
    canvas.beginForm(name, lowerx=-ROOM, lowery=-HEIGHT, upperx=ROOM, uppery=HEIGHT)
    canvas.setFillColor(colour)
    canvas.setFont(font, size)
    if right:
        canvas.drawRightString(0, 0, text)
    else:
        canvas.drawString(0, 0, text)
    canvas.endForm()
