"""A ruled table to be written on by hand."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus.flowables import Flowable

from haccp.drawing.typeface import BOLD, REGULAR
from haccp.reports.draw.ink import HEAD_TINT, INK, QUIET
from haccp.reports.draw.lines import lines

LINE_HEIGHT = 25.0  # room for handwriting
TITLE_SIZE, HINT_SIZE, LEADING = 7.8, 6.8, 9.0
PAD = 2.5


@dataclass(frozen=True, slots=True)
class BlankColumn:
    """share: of the width, relative to the other columns."""

    title: str
    hint: str
    share: float


class BlankTable(Flowable):
    """As many lines as fit the rest of the page, and no fewer than least."""

    def __init__(self, columns: Sequence[BlankColumn], least: int = 6) -> None:
        super().__init__()
        self.columns, self.least = tuple(columns), least

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        total = sum(column.share for column in self.columns)
        self.widths = [available_width * column.share / total for column in self.columns]
        self.heads = [
            (
                lines(column.title, BOLD, TITLE_SIZE, width - 2 * PAD),
                lines(column.hint, REGULAR, HINT_SIZE, width - 2 * PAD) if column.hint else (),
            )
            for column, width in zip(self.columns, self.widths, strict=True)
        ]
        self.head = max(len(title) + len(hint) for title, hint in self.heads) * LEADING + 2 * PAD
        self.count = max(self.least, int((available_height - self.head - 1) // LINE_HEIGHT))
        self.width, self.height = available_width, self.head + self.count * LINE_HEIGHT
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFillColor(HEAD_TINT)
        canvas.rect(0, self.height - self.head, self.width, self.head, stroke=0, fill=1)
        canvas.setStrokeColor(QUIET)
        canvas.setLineWidth(0.6)
        left = 0.0
        for (title, hint), width in zip(self.heads, self.widths, strict=True):
            y = self.height - PAD - TITLE_SIZE
            canvas.setFillColor(INK)
            for set_lines, font, size in ((title, BOLD, TITLE_SIZE), (hint, REGULAR, HINT_SIZE)):
                canvas.setFont(font, size)
                for line in set_lines:
                    canvas.drawString(left + PAD, y, line)
                    y -= LEADING
            canvas.line(left, 0, left, self.height)
            left += width
        canvas.line(self.width, 0, self.width, self.height)
        canvas.line(0, self.height, self.width, self.height)
        for n in range(self.count + 1):
            canvas.line(0, n * LINE_HEIGHT, self.width, n * LINE_HEIGHT)
