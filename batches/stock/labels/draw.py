"""Labels as PDF: one to a page of 100 × 62 mm, the width of common label printers; plain paper will do as well."""

from collections.abc import Iterable
from io import BytesIO

import segno
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from batches.stock.labels.content import Label
from haccp.drawing.typeface import BOLD, REGULAR, register_typeface, wrap

WIDTH, HEIGHT, EDGE = 100 * mm, 62 * mm, 4 * mm
CODE = 34 * mm
QUIET_MODULES = 4  # ISO/IEC 18004: a margin of four modules on each side
SIZE, LEAD = 8.0, 1.25


def labels_pdf(labels: Iterable[Label], *, title: str) -> bytes:
    """The text is in the file as text; each code as black squares, which any printer draws sharply."""
    register_typeface()
    made = BytesIO()
    canvas = Canvas(made, pagesize=(WIDTH, HEIGHT), invariant=1)
    canvas.setTitle(title)
    for label in labels:
        _label(canvas, label)
        canvas.showPage()
    canvas.save()
    return made.getvalue()


def _label(canvas: Canvas, label: Label) -> None:
    left, top = EDGE + CODE + 3 * mm, HEIGHT - EDGE
    width = WIDTH - left - EDGE
    y = _lines(canvas, label.title, BOLD, 13.0, left, top, width, most=2)
    for line in label.lines:
        y = _lines(canvas, line, REGULAR, SIZE, left, y - 1, width, most=4)
    _code(canvas, label.code, EDGE, HEIGHT - EDGE - CODE)
    _lines(canvas, label.beneath, REGULAR, 6.5, EDGE, HEIGHT - EDGE - CODE, CODE, most=3)
    if label.warning:
        _warning(canvas, label.warning)


def _lines(
    canvas: Canvas, text: str, font: str, size: float, left: float, top: float, width: float, *, most: int
) -> float:
    """Draws at most so many lines and gives the height where the next may begin."""
    canvas.setFont(font, size)
    for line in _broken(text, size, width, bold=font == BOLD)[:most]:
        top -= size * LEAD
        canvas.drawString(left, top, line)
    return top


def _broken(text: str, size: float, width: float, *, bold: bool) -> list[str]:
    return [line for part in text.splitlines() for line in wrap(part, size, width, bold=bold)]


def _code(canvas: Canvas, content: str, left: float, bottom: float) -> None:
    """Error correction M (about 15 %): a label in a wet room gets scratched."""
    matrix = segno.make_qr(content, error="m", boost_error=False).matrix
    module = CODE / (len(matrix) + 2 * QUIET_MODULES)
    for row, modules in enumerate(matrix):
        run = 0
        for column, dark in enumerate([*modules, 0]):
            if dark:
                run += 1
            elif run:
                x = left + (QUIET_MODULES + column - run) * module
                y = bottom + CODE - (QUIET_MODULES + row + 1) * module
                canvas.rect(x, y, run * module, module, stroke=0, fill=1)
                run = 0


def _warning(canvas: Canvas, words: str) -> None:
    """White on black across the foot: seen on a black-and-white printer too."""
    height = 13 * mm
    canvas.rect(0, 0, WIDTH, height, stroke=0, fill=1)
    canvas.setFillGray(1)
    _lines(canvas, words, BOLD, 9.0, EDGE, height - 1, WIDTH - 2 * EDGE, most=3)
    canvas.setFillGray(0)
