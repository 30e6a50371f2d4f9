"""A line of an index: a name, and the page of each thing there is about it."""

from collections.abc import Sequence

from django.utils.translation import gettext
from reportlab.platypus.flowables import Flowable

from haccp.drawing.typeface import REGULAR
from haccp.reports.draw import late
from haccp.reports.draw.ink import INK, RULE
from haccp.reports.draw.lines import lines
from haccp.reports.draw.marks import page_of

SIZE, LEADING = 9.5, 13.0
PAGE_COLUMN = 62.0


class IndexLine(Flowable):
    """keys: of places in this document, one for each column, empty where there is none."""

    def __init__(self, title: str, keys: Sequence[str]) -> None:
        super().__init__()
        self.title, self.keys = title, tuple(keys)

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.set = lines(self.title, REGULAR, SIZE, available_width - PAGE_COLUMN * len(self.keys) - 6)
        self.width, self.height = available_width, LEADING * len(self.set)
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.4)
        canvas.line(0, 0.6, self.width, 0.6)
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, SIZE)
        top = self.height - SIZE
        for place, line in enumerate(self.set):
            canvas.drawString(0, top - place * LEADING, line)
        for place, key in enumerate(reversed(self.keys)):
            right = self.width - place * PAGE_COLUMN
            if key:
                late.place(canvas, page_of(key), right, top)
                canvas.linkRect("", key, (right - PAGE_COLUMN + 8, top - 3, right, top + SIZE), relative=1, F=4)


class IndexHead(IndexLine):
    """Names of the columns over the pages."""

    def __init__(self, title: str, columns: Sequence[str]) -> None:
        super().__init__(gettext(title), [gettext(column) for column in columns])

    def draw(self) -> None:
        canvas = self.canv
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.8)
        canvas.line(0, 0, self.width, 0)
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, SIZE - 1)
        canvas.drawString(0, self.height - SIZE, self.title)
        for place, name in enumerate(reversed(self.keys)):
            canvas.drawRightString(self.width - place * PAGE_COLUMN, self.height - SIZE, name)
