"""Flowables that the sections share: headings with their bookmarks, lines of the contents, facts, panels."""

from collections.abc import Sequence
from html import escape
from typing import Any

from django.utils.translation import gettext
from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph
from reportlab.platypus.flowables import Flowable

from haccp.drawing.scripts import runs_leftwards
from haccp.drawing.typeface import BOLD, REGULAR
from haccp.reports.draw import late
from haccp.reports.draw.glyphs import markup
from haccp.reports.draw.ink import BODY, HEADINGS, INK, PANEL, QUIET, RULE, SMALL
from haccp.reports.draw.lines import lines, lines_as_read
from haccp.reports.draw.qr import SIDE, draw_qr

PAGE_OF = "page-of-"


class Prose(Paragraph):
    """Somebody's text. Where it runs to the left it is broken into lines here, which platypus leaves as they are."""

    def __init__(self, text: str | None, style: ParagraphStyle, **parts: Any) -> None:
        # parts: what platypus gives to the halves of a paragraph that it has split.
        marked: Any = None if text is None else markup(text)
        super().__init__(marked, style, **parts)
        self.words_as_typed = text or ""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        if runs_leftwards(self.words_as_typed):
            setting: Any = self
            style = setting.style
            room = available_width - style.leftIndent - style.rightIndent
            broken = lines(self.words_as_typed, style.fontName, style.fontSize, room)
            setting._setup("<br/>".join(escape(line, quote=False) for line in broken), style, None, None, str)
            self.words_as_typed = ""
        return super().wrap(available_width, available_height)


class Heading(Prose):
    """level 0 to 2; key: what the contents, the outline and links call it."""

    def __init__(self, text: str, key: str, level: int = 0) -> None:
        title = str(text)  # said now, in the language of the paper
        super().__init__(title, HEADINGS[level])
        self.title, self.key, self.level = title, key, level

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        """Never: it goes to the next page as a whole."""
        return []


def words(text: str, style: ParagraphStyle = BODY) -> Paragraph:
    """Somebody's text as a paragraph."""
    return Prose(str(text), style)


class Linked(Paragraph):
    """Text that leads to the place called key, by a link that is printed like any other (PDF/A asks that it say so)."""

    def __init__(self, text: str, key: str, style: ParagraphStyle = BODY) -> None:
        marked: Any = f'<font color="#0f5257"><u>{markup(text)}</u></font>'
        super().__init__(marked, style)
        self.key = key

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        super().draw()
        self.canv.linkRect("", self.key, (0, 0, self.width, self.height), relative=1, F=4)


class ContentsLine(Flowable):
    """A line of the contents that leads to its page; the number is written when the pack is complete."""

    def __init__(self, title: str, key: str, level: int) -> None:
        super().__init__()
        self.title, self.key, self.level = str(title), key, level
        self.font = BOLD if level == 0 else REGULAR
        self.size = 10.5 if level == 0 else 9.5
        self.indent = 14.0 * level

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.set = lines(self.title, self.font, self.size, available_width - self.indent - 50)
        self.gap = 6.0 if self.level == 0 else 0.0
        self.width, self.height = available_width, self.gap + (self.size + 4.0) * len(self.set)
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFillColor(INK)
        canvas.setFont(self.font, self.size)
        y = self.height - self.gap - self.size
        for i, line in enumerate(self.set):
            canvas.drawString(self.indent, y - i * (self.size + 4.0), line)
        y -= (len(self.set) - 1) * (self.size + 4.0)
        start = self.indent + canvas.stringWidth(self.set[-1], self.font, self.size) + 6
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.8)
        canvas.setDash([0.8, 3])
        canvas.line(start, y + 1, self.width - 30, y + 1)
        canvas.setDash([])
        late.place(canvas, page_of(self.key), self.width, y)
        canvas.linkRect("", self.key, (0, y - 3, self.width, self.height - self.gap), relative=1, F=4)


def page_of(key: str) -> str:
    """The late words that say on which page the place called key is."""
    return f"{PAGE_OF}{key}"


def key_of(name: str) -> str:
    """The other way round."""
    return name.removeprefix(PAGE_OF)


class Facts(Flowable):
    """Names at the left, values at the right, both wrapped; as one block that may be split between facts.

    code: an address that a QR code at the right leads to, or empty.
    """

    NAME_SHARE = 0.24

    def __init__(self, facts: Sequence[tuple[str, str]], size: float = 9.5, code: str = "") -> None:
        super().__init__()
        self.facts, self.size, self.leading = [fact for fact in facts if fact[1]], size, size * 1.37
        self.code = code

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.name_width = available_width * self.NAME_SHARE
        beside = SIDE + 4 if self.code else 0.0
        self.blocks = [
            (
                lines(gettext(name) if name else "", REGULAR, self.size, self.name_width - 8),
                lines(value, REGULAR, self.size, available_width - self.name_width - beside),
            )
            for name, value in self.facts
        ]
        self.width, self.height = available_width, sum(self._height_of(block) for block in self.blocks)
        if self.code:
            self.height = max(self.height, SIDE)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        """Between facts; a fact longer than what is left is continued as a further one without its name."""
        self.wrap(available_width, available_height)
        if self.code and available_height < SIDE:
            return []
        room, kept = available_height, 0
        while kept < len(self.blocks) and self._height_of(self.blocks[kept]) <= room:
            room -= self._height_of(self.blocks[kept])
            kept += 1
        if kept:
            return [Facts(self.facts[:kept], self.size, self.code), Facts(self.facts[kept:], self.size)]
        count = int((room - 3) // self.leading)
        if count < 3:
            return []
        name, text = self.facts[0]
        beside = SIDE + 4 if self.code else 0.0
        value = lines_as_read(text, REGULAR, self.size, available_width - self.name_width - beside)
        rest = [("", "\n".join(value[count:])), *self.facts[1:]]
        return [Facts([(name, "\n".join(value[:count]))], self.size, self.code), Facts(rest, self.size)]

    def draw(self) -> None:
        top = self.height
        if self.code:
            draw_qr(self.canv, self.code, self.width - SIDE, self.height - SIDE)
        for names, values in self.blocks:
            self._column(0, top, names, QUIET)
            self._column(self.name_width, top, values, INK)
            top -= self._height_of((names, values))

    def _height_of(self, block: tuple[Sequence[str], Sequence[str]]) -> float:
        return max(len(block[0]), len(block[1])) * self.leading + 3

    def _column(self, x: float, top: float, set_lines: Sequence[str], colour: Color) -> None:
        self.canv.setFillColor(colour)
        self.canv.setFont(REGULAR, self.size)
        for i, line in enumerate(set_lines):
            self.canv.drawString(x, top - self.size - i * self.leading, line)


class LateLine(Flowable):
    """Room for a line that is written when the pack is complete."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = available_width, 12.0
        return self.width, self.height

    def draw(self) -> None:
        late.place(self.canv, self.name, 0, 3)


class Coded(Flowable):
    """Paragraphs with a QR code at their right that leads to address; without one where address is empty."""

    SIDE = 46.0

    def __init__(self, paragraphs: Sequence[tuple[str, ParagraphStyle]], address: str) -> None:
        super().__init__()
        self.paragraphs, self.address = [words(text, style) for text, style in paragraphs], address

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        inner = available_width - (self.SIDE + 4 if self.address else 0.0)
        self.heights = [one.wrap(inner, available_height)[1] for one in self.paragraphs]
        self.width, self.height = available_width, max(sum(self.heights) + 2, self.SIDE if self.address else 0.0)
        return self.width, self.height

    def draw(self) -> None:
        y = self.height
        for paragraph, height in zip(self.paragraphs, self.heights, strict=True):
            y -= height
            paragraph.drawOn(self.canv, 0, y)
        if self.address:
            draw_qr(self.canv, self.address, self.width - self.SIDE, self.height - self.SIDE, self.SIDE)


class Panel(Flowable):
    """A few paragraphs on a tinted ground, kept together."""

    PAD = 9.0

    def __init__(self, paragraphs: Sequence[str], style: ParagraphStyle = SMALL) -> None:
        super().__init__()
        self.paragraphs = [words(text, style) for text in paragraphs]
        self.spaceBefore = self.spaceAfter = 6

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        inner = available_width - 2 * self.PAD
        self.heights = [paragraph.wrap(inner, available_height)[1] + 3 for paragraph in self.paragraphs]
        self.width, self.height = available_width, sum(self.heights) - 3 + 2 * self.PAD
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setFillColor(PANEL)
        self.canv.setStrokeColor(RULE)
        self.canv.setLineWidth(0.6)
        self.canv.roundRect(0, 0, self.width, self.height, 4, stroke=1, fill=1)
        y = self.height - self.PAD
        for paragraph, height in zip(self.paragraphs, self.heights, strict=True):
            paragraph.drawOn(self.canv, self.PAD, y - height + 3)
            y -= height
