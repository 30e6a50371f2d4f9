"""The sheet that every page of a pack is drawn on, and the drawing of a pack in one pass."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate
from reportlab.platypus.flowables import Flowable

from haccp.drawing.typeface import BOLD, REGULAR
from haccp.reports.draw import late
from haccp.reports.draw.glyphs import REPLACEMENT, printable
from haccp.reports.draw.ink import INK, QUIET, RULE
from haccp.reports.draw.lines import lines
from haccp.reports.draw.marks import Heading, key_of
from haccp.reports.draw.paper import Paper
from haccp.reports.draw.streamed import StreamedCanvas
from haccp.reports.languages import language_tag, own

CAUTION = own("Supports and does not replace the local regulator, local codes and the licensed process authority.")
PAGE_COUNT, REPLACED = "page-count", "replaced-characters"
REPLACED_WORDS = own("□ stands for a character that these typefaces lack; records.json holds it as it was typed.")
RUNNING_SIZE = 8.2


@dataclass(frozen=True, slots=True)
class DocumentFacts:
    """What the file says about itself, and what every page repeats."""

    title: str
    author: str
    subject: str
    running_head: str
    language: str = field(default_factory=language_tag)


@dataclass(frozen=True, slots=True)
class Drawn:
    page_count: int
    replaced: bool


class PackDocument(BaseDocTemplate):
    """Draws flowables as they are made, each page as soon as it is full."""

    def __init__(self, target: Any, paper: Paper, facts: DocumentFacts) -> None:
        super().__init__(
            target,
            pagesize=(paper.width, paper.height),
            title=facts.title,
            author=facts.author,
            subject=facts.subject,
            creator="Curdward",
            producer="Curdward",
            lang=facts.language,
            invariant=1,
            pageCompression=1,
            initialFontName=REGULAR,
            initialFontSize=9.5,
            displayDocTitle=1,
        )
        self.paper, self.facts = paper, facts
        frame = Frame(
            paper.left, paper.bottom, paper.text_width, paper.text_height,
            leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0, id="text",
        )  # fmt: skip
        self.addPageTemplates(
            PageTemplate(id="page", frames=[frame], onPage=self._begin_page, onPageEnd=self._end_page)
        )
        self._section = self._page_section = ""
        self._page_is_empty = True
        self._outline_level = -1

    def draw(self, flowables: Iterable[Flowable]) -> Drawn:
        """Draws them all, each as it comes; then writes the page numbers that were referred to."""
        builder: Any = self  # BaseDocTemplate.build() wants the whole list; these are the steps that it takes
        builder._startBuild(canvasmaker=StreamedCanvas)
        canvas: Any = self.canv
        canvas._doctemplate = self
        try:
            return self._drawn(builder, canvas, flowables)
        finally:
            canvas.abandon()

    def _drawn(self, builder: Any, canvas: Any, flowables: Iterable[Flowable]) -> Drawn:
        for flowable in flowables:
            waiting = [flowable]
            while waiting:
                builder.clean_hanging()
                builder.handle_flowable(waiting)
        replaced = _has_drawn(canvas, REPLACEMENT)
        builder._doSave = 0
        builder._endBuild()
        page_count = canvas.getPageNumber() - 1
        self._write_late(page_count, replaced)
        del canvas._doctemplate
        canvas.save()
        return Drawn(page_count, replaced)

    def _write_late(self, page_count: int, replaced: bool) -> None:
        late.write(self.canv, PAGE_COUNT, str(page_count), size=RUNNING_SIZE, colour=QUIET)
        for name in sorted(late.placed(self.canv) - {PAGE_COUNT}):
            if name == REPLACED:
                late.write(self.canv, REPLACED, str(REPLACED_WORDS) if replaced else "", size=8.2, colour=QUIET)
            else:
                page = late.noted(self.canv)[key_of(name)]
                late.write(self.canv, name, str(page), size=9.5, right=True)

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802  (ReportLab's hook)
        if isinstance(flowable, Heading):
            self._note_heading(flowable)
        if getattr(flowable, "height", 0):
            self._page_is_empty = False

    def _note_heading(self, heading: Heading) -> None:
        late.note_page(self.canv, heading.key)
        frame: Any = self.frame
        top = frame._y + heading.height + 4
        self.canv.bookmarkHorizontal(heading.key, 0, top)
        # A chart under a section without parts stands one step below it, however small its heading is set.
        self._outline_level = min(heading.level, self._outline_level + 1)
        self.canv.addOutlineEntry(
            printable(heading.title), heading.key, level=self._outline_level, closed=self._outline_level > 0
        )
        if heading.level == 0:
            self._section = heading.title
            if self._page_is_empty:
                self._page_section = heading.title

    def _begin_page(self, canvas: Canvas, _: BaseDocTemplate) -> None:
        self._page_is_empty, self._page_section = True, self._section

    def _end_page(self, canvas: Canvas, _: BaseDocTemplate) -> None:
        if self.page > 1:
            self._running_head(canvas)
        self._foot(canvas)

    def _running_head(self, canvas: Canvas) -> None:
        paper, y = self.paper, self.paper.height - self.paper.top + 14
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.8)
        canvas.line(paper.left, y - 5, paper.width - paper.right, y - 5)
        canvas.setFillColor(QUIET)
        canvas.setFont(BOLD, RUNNING_SIZE)
        section = _one_line(self._page_section, BOLD, paper.text_width * 0.36)
        canvas.drawRightString(paper.width - paper.right, y, section)
        canvas.setFont(REGULAR, RUNNING_SIZE)
        canvas.drawString(paper.left, y, _one_line(self.facts.running_head, REGULAR, paper.text_width * 0.62))

    def _foot(self, canvas: Canvas) -> None:
        paper, y = self.paper, self.paper.bottom - 20
        canvas.setFillColor(QUIET)
        canvas.setFont(REGULAR, RUNNING_SIZE)
        folio = gettext("page {number} of ").format(number=self.page)
        canvas.drawString(paper.left, y, folio)
        late.place(canvas, PAGE_COUNT, paper.left + canvas.stringWidth(folio, REGULAR, RUNNING_SIZE), y)
        canvas.setFont(REGULAR, 7.4)
        canvas.drawRightString(paper.width - paper.right, y, str(CAUTION))
        canvas.setFillColor(INK)


def _one_line(text: str, font: str, width: float) -> str:
    first, *rest = lines(text, font, RUNNING_SIZE, width)
    return first if not rest else lines(first, font, RUNNING_SIZE, width - 8)[0] + "…"


def _has_drawn(canvas: Any, character: str) -> bool:
    for name in pdfmetrics.getRegisteredFontNames():
        state = getattr(pdfmetrics.getFont(name), "state", {}).get(canvas._doc)
        if state is not None and ord(character) in state.assignments:
            return True
    return False


Tick = Callable[[int], None]
