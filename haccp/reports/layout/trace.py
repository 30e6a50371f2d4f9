"""The trace of a lot in print: the picture, and the lots and links of it in words."""

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO

from reportlab.platypus.flowables import Flowable

from batches.tracing.graph import Sent, Trace
from batches.tracing.picture import amount_words, draw, lot_words
from haccp.drawing.layout import PRINT
from haccp.drawing.pdf import PictureFlowable
from haccp.lots.models import Lot
from haccp.premises.models import Premises
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import CAUTION, DocumentFacts, PackDocument
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.lasting import archived
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.paper import Paper, paper_of
from haccp.reports.draw.rows import ALARM, Column, Line, Row, RowTable, Words
from haccp.reports.languages import own
from haccp.science.units import show

LOTS = (Column("Lot", 20), Column("What", 30), Column("Begun", 22), Column("There was", 14, right=True))
LINKS = (Column("This", 30), Column("went into", 30), Column("How much", 16, right=True))
SENT = (Column("Customer", 34), Column("Lot", 20), Column("When", 22), Column("Weight", 14, right=True))


def trace_pdf(premises: Premises, trace: Trace, sent: list[Sent], *, made_at: datetime) -> bytes:
    """The bytes of the PDF."""
    paper, time = paper_of(premises.jurisdiction), LocalTime(premises.zone)
    made = BytesIO()
    facts = DocumentFacts(
        title=f"Trace of {trace.lot.code}, {premises.name}",
        author=premises.name,
        subject="Where a lot came from and went to",
        running_head=f"{premises.name} · trace of {trace.lot.code}",
    )
    document = PackDocument(
        made,
        paper,
        facts,
    )
    document.draw(_story(trace, sent, time, paper, made_at))
    return archived(made.getvalue(), facts)


def _story(trace: Trace, sent: list[Sent], time: LocalTime, paper: Paper, made_at: datetime) -> Iterator[Flowable]:
    yield Heading(f"Trace of {trace.lot.code}", "trace")
    yield words(lot_words(trace.lot))
    for code in trace.came_as:
        yield words(f"From another premises of the producer: lot {code}.")
    if trace.links:
        picture = draw(trace, PRINT)
        tallest = paper.text_height - 90
        width = min(paper.text_width, tallest * picture.width / picture.height)
        yield PictureFlowable(picture, width)
    yield Heading(own("How much of it went where"), "balance", 1)
    balance = trace.balance
    there = "not recorded" if balance.there is None else amount_words(balance.there, balance.unit)
    off = "" if balance.unexplained is None else amount_words(balance.unexplained, balance.unit)
    outlets = [(one.label, amount_words(one.amount, balance.unit)) for one in balance.outlets]
    yield Facts([("there was", there), *outlets, ("unexplained", off)])
    yield Heading(own("Lots"), "lots", 1)
    yield RowTable(LOTS, (_lot(trace, lot, time) for lot in trace.lots), paper.text_height)
    if trace.links:
        codes = {lot.pk: lot.code for lot in trace.lots}
        rows = (
            Row((Line((codes[parent], codes[child], amount_words(amount, unit))),))
            for parent, child, amount, unit in trace.links
        )
        yield Heading(own("Links"), "links", 1)
        yield RowTable(LINKS, rows, paper.text_height)
    if sent:
        yield Heading(own("Where it went to"), "sent", 1)
        yield RowTable(SENT, (_sent(one, time) for one in sent), paper.text_height)
    yield words(f"Printed {time.moment(made_at)}. {CAUTION}", SMALL_QUIET)


def _lot(trace: Trace, lot: Lot, time: LocalTime) -> Row:
    balance = trace.balances[lot.pk]
    held = getattr(lot, "is_held", False)
    code = Words(f"{lot.code} on hold", ALARM) if held else Words(lot.code)
    there = "–" if balance.there is None else amount_words(balance.there, balance.unit)
    return Row((Line((code, lot_words(lot), time.moment(lot.begun_at), there)),), tinted=held)


def _sent(one: Sent, time: LocalTime) -> Row:
    when = time.moment(one.dispatch.dispatched_at)
    return Row((Line((one.dispatch.customer.name, one.lot.code, when, show("mass", one.weight_kg))),))
