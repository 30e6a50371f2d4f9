"""Words that are known only when the whole pack is drawn: page numbers in the contents, the number of pages.

Each is a form of its own, placed where it belongs and written at the end, so that a pack is drawn in one pass however
long it is.
"""

from reportlab.lib.colors import Color
from reportlab.pdfgen.canvas import Canvas

from haccp.drawing.typeface import REGULAR
from haccp.reports.draw.ink import INK

# Half the width and half the height of the box that such words may fill.
ROOM, HEIGHT = 420, 16


def place(canvas: Canvas, name: str, x: float, y: float) -> None:
    """Puts the words called name with their origin at (x, y)."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.doForm(name)
    canvas.restoreState()


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
