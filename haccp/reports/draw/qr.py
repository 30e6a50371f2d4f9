"""QR codes (ISO/IEC 18004) as filled paths, so that they print sharply at any size."""

from functools import lru_cache

import segno
from reportlab.lib.colors import black
from reportlab.pdfgen.canvas import Canvas

from haccp.reports.draw.streamed import link_outside

# The clear ground that a reader needs around the code, in modules (ISO/IEC 18004, 6.3.8).
QUIET_MODULES = 4
SIDE = 58.0


@lru_cache(maxsize=512)
def _runs(text: str) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """Modules along a side, and the dark runs: (row from the top, first column, how many)."""
    matrix = segno.make(text, error="m", micro=False).matrix
    runs = []
    for row, line in enumerate(matrix):
        column = 0
        while column < len(line):
            length = 0
            while column + length < len(line) and line[column + length]:
                length += 1
            if length:
                runs.append((row, column, length))
            column += length or 1
    return len(matrix), tuple(runs)


def draw_qr(canvas: Canvas, text: str, x: float, y: float, side: float = SIDE) -> None:
    """The code with its quiet zone in a square with its lower left corner at (x, y), leading to text if tapped."""
    count, runs = _runs(text)
    module = side / (count + 2 * QUIET_MODULES)
    path = canvas.beginPath()
    for row, column, length in runs:
        left, top = x + (QUIET_MODULES + column) * module, y + side - (QUIET_MODULES + row) * module
        path.rect(left, top - module, length * module, module)
    canvas.setFillColor(black)
    canvas.drawPath(path, stroke=0, fill=1)
    link_outside(canvas, text, (x, y, x + side, y + side))
