"""Documents of records, drawn into a file: a visit pack, one batch's record, a day book, a deviation report."""

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from django.utils.translation import gettext
from reportlab.platypus import CondPageBreak, PageBreak
from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import DocumentFacts, Drawn, PackDocument
from haccp.reports.draw.lasting import attach_records
from haccp.reports.draw.paper import paper_of
from haccp.reports.gather.gathered import Gathered
from haccp.reports.layout import acidity, batches, climate, contents, cover, deviations, heat, plan
from haccp.reports.layout.addresses import Addresses
from haccp.reports.layout.head import document_head
from haccp.reports.layout.kinds import PACK, Kind
from haccp.reports.layout.sections import Section, sections
from haccp.reports.layout.sheet import Sheet

SECTION_TICKS = 5
# Of a page: a section's heading with its first picture.
ROOM_TO_BEGIN = 0.4

Report = Callable[[str, int, int], None]


def draw(
    gathered: Gathered,
    path: Path,
    *,
    made_at: datetime,
    report: Report,
    kind: Kind = PACK,
    about: str = "",
    address: str = "",
) -> Drawn:
    """Draws the document into the file at path. report(stage, done, total) is called as it goes on; done never falls.

    about: what it is of, such as a batch's code; address: of the page that its QR code leads to.
    """
    period = gathered.scope.period
    time = LocalTime(period.zone)
    title = str(kind.title)
    named = f"{title}, {about}," if about else title
    span = time.span(period.first_day, period.last_day)
    facts = DocumentFacts(
        title=gettext("{what} of {premises}, {span}").format(what=named, premises=period.premises, span=span),
        author=period.premises,
        subject=gettext("HACCP plan, monitoring records, deviations and corrective actions of a dairy"),
        running_head=f"{period.premises} · {about or title} · {span}",
    )
    progress = _Progress(report, _total(gathered))
    sheet = Sheet(
        paper_of(period.jurisdiction),
        time,
        progress.tick,
        in_fahrenheit=period.units.unit("temperature") == "°F",
        addresses=Addresses(period.site),
    )
    document = PackDocument(str(path), sheet.paper, facts)
    parts = sections(kind.sections, gathered, sheet)
    if kind.has_cover:
        first = _cover_and_contents(gathered, parts, about, made_at, sheet)
    else:
        first = document_head(kind.title, about, gathered, address, made_at, sheet)
    drawn = document.draw(_flowables(first, parts, sheet, progress))
    progress.enter("Attaching the records and their proofs")
    attach_records(path, gathered.evidence, facts)
    return drawn


class _Progress:
    def __init__(self, report: Report, total: int) -> None:
        self.report, self.total, self.done, self.stage = report, total, 0, ""

    def enter(self, stage: str) -> None:
        self.stage = stage
        self.tick(SECTION_TICKS if self.done else 0)

    def tick(self, count: int) -> None:
        self.done = min(self.done + count, self.total)
        self.report(self.stage, self.done, self.total)


def _total(gathered: Gathered) -> int:
    return (
        len(gathered.scope.record_ids)
        + len(gathered.scope.missed_ids)
        + heat.TICKS * len(gathered.heat_titles)
        + acidity.TICKS * len(gathered.curves)
        + climate.TICKS * len(gathered.rooms)
        + deviations.TICKS * len(gathered.deviations)
        + batches.TICKS * len(gathered.scope.batch_ids)
        + SECTION_TICKS * 20
    )


def _cover_and_contents(
    gathered: Gathered, parts: list[Section], about: str, made_at: datetime, sheet: Sheet
) -> Iterator[Flowable]:
    scope = gathered.scope
    facts = cover.Cover(scope.period, gathered.evidence, made_at, _in_scope(gathered), about)
    yield from cover.cover_page(facts, sheet)
    yield PageBreak()
    yield from contents.contents_page([entry for part in parts for entry in part.entries])
    yield PageBreak()


def _flowables(
    first: Iterator[Flowable], parts: list[Section], sheet: Sheet, progress: _Progress
) -> Iterator[Flowable]:
    progress.enter("Cover and contents")
    yield from first
    for part in parts:
        progress.enter(str(part.title))
        yield PageBreak() if part.title == plan.TITLE else CondPageBreak(sheet.paper.text_height * ROOM_TO_BEGIN)
        yield from part.flowables


def _in_scope(gathered: Gathered) -> tuple[str, ...]:
    counts, scope = gathered.counts, gathered.scope
    whole = gettext("the plan in force")
    part = gettext("the control points of the plan that these records belong to")
    return (
        whole if scope.choice.is_whole else part,
        gettext("{records} records of {points} control points").format(
            records=counts.records, points=len(scope.points)
        ),
        gettext("{count} batches").format(count=len(scope.batch_ids)),
        gettext("{count} heat treatments").format(count=len(gathered.heat_titles)),
        gettext("{count} missed checks").format(count=counts.missed),
        gettext("{count} deviations").format(count=len(gathered.deviations)),
        gettext("{count} days signed off").format(count=counts.days_signed_off),
    )
