"""A table of any length, painted row by row while its rows are still being read from the database.

A row is kept together and the head is repeated on each page. All text of a page's rows goes into one text object in
reading order, which is several times as fast as a table of cells.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from django.utils.translation import gettext
from reportlab.lib.colors import Color
from reportlab.platypus.flowables import Flowable

from haccp.drawing.typeface import BOLD, ITALIC, REGULAR
from haccp.reports.draw import late
from haccp.reports.draw.ink import ACCENT, BAD, BAD_TINT, HEAD_TINT, INK, QUIET, RULE
from haccp.reports.draw.lines import lines
from haccp.reports.draw.streamed import link_outside

SIZE, LEADING = 8.0, 10.2
PAD_X, PAD_Y = 3.0, 2.6
LEAST_CUT_LINES = 4


@dataclass(frozen=True, slots=True)
class Face:
    font: str
    colour: Color


PLAIN = Face(REGULAR, INK)
STRONG = Face(BOLD, INK)
ALARM = Face(BOLD, BAD)
ASIDE = Face(ITALIC, QUIET)
QUIET_FACE = Face(REGULAR, QUIET)
LINK = Face(REGULAR, ACCENT)


@dataclass(frozen=True, slots=True)
class Column:
    """share: of the width, relative to the other columns."""

    title: str
    share: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """link: a place in this document; href: an address outside it. At most one of them."""

    text: str
    face: Face = PLAIN
    link: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One cell per column."""

    cells: tuple[Words | str, ...]


@dataclass(frozen=True, slots=True)
class Stack:
    """Lines under one another in some columns, beside the cells of the others, which do not hold them apart."""

    beside: Line
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """Words across all columns from column `start` on."""

    words: Words
    start: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """Lines, stacks and spans that stay together, one under the other. anchor: what links call this row."""

    parts: tuple[Line | Stack | Span, ...]
    anchor: str = ""
    tinted: bool = False


@dataclass(frozen=True, slots=True)
class _Piece:
    x: float
    line: int
    text: str
    face: Face
    right: bool = False


@dataclass(frozen=True, slots=True)
class _Link:
    x: float
    line: int
    line_count: int
    width: float
    target: str
    is_outside: bool


@dataclass(frozen=True, slots=True)
class _SetRow:
    """A row laid out: pieces on a grid of line_count lines."""

    pieces: tuple[_Piece, ...]
    links: tuple[_Link, ...]
    line_count: int
    anchor: str
    tinted: bool

    @property
    def height(self) -> float:
        return self.line_count * LEADING + 2 * PAD_Y

    def cut(self, at_line: int) -> tuple["_SetRow", "_SetRow"]:
        """For a row that no page could hold."""
        upper = _SetRow(
            tuple(piece for piece in self.pieces if piece.line < at_line), self.links, at_line, self.anchor, self.tinted
        )
        lower = tuple(
            _Piece(piece.x, piece.line - at_line, piece.text, piece.face, piece.right)
            for piece in self.pieces
            if piece.line >= at_line
        )
        return upper, _SetRow(lower, (), self.line_count - at_line, "", self.tinted)


class RowTable(Flowable):
    """columns, and rows read one page at a time. page_height: of a whole empty frame, in points."""

    def __init__(self, columns: Sequence[Column], rows: Iterable[Row], page_height: float) -> None:
        super().__init__()
        self.columns, self.page_height = tuple(columns), page_height
        self._source: Iterator[Row] | None = iter(rows)
        self._set: list[_SetRow] = []
        self._head: _SetRow | None = None
        self._edges: list[tuple[float, float]] = []

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Reads no more rows than the height can hold, and one."""
        self._measure(available_width)
        assert self._head is not None
        self.width, self.height = available_width, self._head.height + sum(row.height for row in self._set)
        while self.height <= available_height and self._read():
            self.height += self._set[-1].height
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        self.wrap(available_width, available_height)
        assert self._head is not None
        room = available_height - self._head.height
        fitting: list[_SetRow] = []
        waiting = list(self._set)
        while waiting and waiting[0].height <= room:
            room -= waiting[0].height
            fitting.append(waiting.pop(0))
        if waiting and waiting[0].height > self.page_height - self._head.height:
            count = int((room - 2 * PAD_Y) // LEADING)
            if count >= LEAST_CUT_LINES:
                upper, lower = waiting[0].cut(count)
                fitting.append(upper)
                waiting[0] = lower
        if not fitting:
            return []
        return [self._part(fitting, None), self._part(waiting, self._source)]

    def draw(self) -> None:
        assert self._head is not None
        top = self.height
        rows = [self._head, *self._set]
        for row in rows:
            self._paint_ground(row, top, is_head=row is self._head)
            top -= row.height
        self._paint_text(rows)

    def _part(self, rows: list[_SetRow], source: Iterator[Row] | None) -> "RowTable":
        part = RowTable(self.columns, (), self.page_height)
        part._source, part._set, part._head, part._edges = source, rows, self._head, self._edges
        return part

    def _measure(self, width: float) -> None:
        if self._head is not None:
            return
        total = sum(column.share for column in self.columns)
        left = 0.0
        for column in self.columns:
            self._edges.append((left, left + width * column.share / total))
            left = self._edges[-1][1]
        self._head = self._lay(
            Row((Line(tuple(Words(gettext(column.title) if column.title else "", STRONG) for column in self.columns)),))
        )

    def _read(self) -> bool:
        row = next(self._source, None) if self._source is not None else None
        if row is None:
            self._source = None
            return False
        self._set.append(self._lay(row))
        return True

    def _lay(self, row: Row) -> _SetRow:
        pieces: list[_Piece] = []
        links: list[_Link] = []
        at = 0
        for part in row.parts:
            if isinstance(part, Span):
                at += self._lay_words(part.words, self._edges[part.start][0], self._edges[-1][1], at, pieces, links)
            elif isinstance(part, Stack):
                lowest = at + self._lay_line(part.beside, at, pieces, links)
                for line in part.lines:
                    at += self._lay_line(line, at, pieces, links)
                at = max(at, lowest)
            else:
                at += self._lay_line(part, at, pieces, links)
        return _SetRow(tuple(pieces), tuple(links), at, row.anchor, row.tinted)

    def _lay_line(self, line: Line, at: int, pieces: list[_Piece], links: list[_Link]) -> int:
        return max(
            self._lay_words(cell, *edges, at, pieces, links, right=column.right)
            for cell, edges, column in zip(line.cells, self._edges, self.columns, strict=True)
        )

    def _lay_words(
        self,
        cell: Words | str,
        left: float,
        right_edge: float,
        at: int,
        pieces: list[_Piece],
        links: list[_Link],
        *,
        right: bool = False,
    ) -> int:
        words = Words(cell) if isinstance(cell, str) else cell
        if not words.text:
            return 1
        width = right_edge - left - 2 * PAD_X
        set_lines = lines(words.text, words.face.font, SIZE, width)
        x = right_edge - PAD_X if right else left + PAD_X
        pieces += [_Piece(x, at + i, text, words.face, right) for i, text in enumerate(set_lines)]
        if words.link or words.href:
            links.append(
                _Link(left + PAD_X, at, len(set_lines), width, words.link or words.href, is_outside=bool(words.href))
            )
        return len(set_lines)

    def _paint_ground(self, row: _SetRow, top: float, *, is_head: bool) -> None:
        canvas = self.canv
        if is_head or row.tinted:
            canvas.setFillColor(HEAD_TINT if is_head else BAD_TINT)
            canvas.rect(0, top - row.height, self.width, row.height, stroke=0, fill=1)
        canvas.setStrokeColor(QUIET if is_head else RULE)
        canvas.setLineWidth(0.8 if is_head else 0.5)
        canvas.line(0, top - row.height, self.width, top - row.height)
        if row.anchor:
            canvas.bookmarkHorizontal(row.anchor, 0, top)
            late.note_page(canvas, row.anchor)
        for link in row.links:
            upper = top - PAD_Y - link.line * LEADING
            box = (link.x, upper - link.line_count * LEADING, link.x + link.width, upper)
            if link.is_outside:
                link_outside(canvas, link.target, box)
            else:
                canvas.linkRect("", link.target, box, relative=1, F=4)

    def _paint_text(self, rows: list[_SetRow]) -> None:
        text: Any = self.canv.beginText()
        code = text._code
        face: Face | None = None
        top = self.height
        for row in rows:
            first = top - PAD_Y - SIZE
            for piece in row.pieces:
                if piece.face is not face:
                    if face is None or face.font != piece.face.font:
                        text.setFont(piece.face.font, SIZE, LEADING)
                    if face is None or face.colour is not piece.face.colour:
                        text.setFillColor(piece.face.colour)
                    face = piece.face
                x = piece.x
                if piece.right:
                    x -= self.canv.stringWidth(piece.text, piece.face.font, SIZE)
                # What setTextOrigin writes, to a hundredth of a point: its own way of writing numbers takes longer
                # than all else of a row's painting.
                code.append(f"1 0 0 1 {x:.2f} {first - piece.line * LEADING:.2f} Tm")
                text.textOut(piece.text)
            top -= row.height
        self.canv.drawText(text)


def one_or_more(rows: Iterable[Row]) -> Iterator[Row] | None:
    """The rows again, or None where there is none, without reading more than the first."""
    reader = iter(rows)
    first = next(reader, None)
    return None if first is None else chain((first,), reader)
