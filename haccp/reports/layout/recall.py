"""A recall in print: the list to work from, then a letter for each customer."""

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO

from reportlab.platypus import CondPageBreak, PageBreak
from reportlab.platypus.flowables import Flowable

from batches.recall.findings import Findings, ToCall, Touched
from batches.recall.models import RecallMark
from batches.recall.queries import Course
from batches.tracing.picture import amount_words, lot_words
from haccp.premises.models import Premises
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import CAUTION, DocumentFacts, PackDocument
from haccp.reports.draw.ink import BODY, COVER_NAME, SMALL_QUIET, STRONG
from haccp.reports.draw.lasting import archived
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.paper import paper_of
from haccp.reports.draw.rows import ALARM, Column, Line, Row, RowTable, Words
from haccp.reports.languages import own
from haccp.science.units import show, spell_duration

LOTS = (
    Column("Lot", 17),
    Column("What", 20),
    Column("There was", 12, right=True),
    Column("Dispatched", 12, right=True),
    Column("Counter", 11, right=True),
    Column("In house", 12, right=True),
    Column("Unexplained", 12, right=True),
)
SENT = (
    Column("Lot", 18),
    Column("Cheese", 26),
    Column("Dispatched", 20),
    Column("Paper", 20),
    Column("Pieces", 8, right=True),
    Column("Weight", 12, right=True),
)


def recall_pdf(premises: Premises, course: Course, found: Findings, *, made_at: datetime) -> bytes:
    """The bytes of the PDF: sums and lots, whom to call, the record of the clock, and the letters."""
    paper, time = paper_of(premises.jurisdiction), LocalTime(premises.zone)
    what = f"{course.recall.get_kind_display().capitalize()}: {found.lot.code}"
    made = BytesIO()
    facts = DocumentFacts(
        title=f"{what}, {premises.name}",
        author=premises.name,
        subject="Recall of cheese",
        running_head=f"{premises.name} · {what}",
    )
    document = PackDocument(
        made,
        paper,
        facts,
    )
    document.draw(_story(premises, course, found, time, paper.text_height, made_at))
    return archived(made.getvalue(), facts)


def _story(
    premises: Premises, course: Course, found: Findings, time: LocalTime, height: float, made_at: datetime
) -> Iterator[Flowable]:
    yield Heading(f"{course.recall.get_kind_display().capitalize()} of {found.lot.code}", "recall")
    yield words(course.recall.reason)
    yield Facts(_sums(course, found, time))
    yield Heading(own("Every lot reached"), "lots", 1)
    yield RowTable(LOTS, (_lot_row(one) for one in found.touched), height)
    yield CondPageBreak(130)
    yield Heading(own("Whom to call"), "call", 1)
    if not found.customers:
        yield words(own("Nothing of these lots was dispatched to a named customer."))
    for one in found.customers:
        yield CondPageBreak(90)
        yield words(one.customer.name, STRONG)
        yield Facts(_contact(course, one, time))
    yield CondPageBreak(90)
    yield Heading(own("The clock"), "clock", 1)
    yield Facts([(spell(course, mark), f"{mark.get_kind_display()}{_about(mark)}") for mark in course.marks], 9.0)
    yield words(f"Printed {time.moment(made_at)}. {CAUTION}", SMALL_QUIET)
    for one in found.customers:
        yield PageBreak()
        yield from _letter(premises, course, found, one, time, height, made_at)


def spell(course: Course, mark: RecallMark) -> str:
    return f"after {spell_duration(max((mark.at - course.recall.started_at).total_seconds(), 0))}"


def _about(mark: RecallMark) -> str:
    parts = [mark.lot.code if mark.lot else "", mark.customer.name if mark.customer else "", mark.note, mark.by.name]
    return ": " + " · ".join(part for part in parts if part)


def _sums(course: Course, found: Findings, time: LocalTime) -> list[tuple[str, str]]:
    percent = found.accounted_percent
    return [
        ("Clock started", f"{time.moment(course.recall.started_at)} by {course.recall.started_by.name}"),
        ("Lots reached", str(len(found.touched))),
        ("Came into stock", show("mass", found.made_kg)),
        ("Dispatched", f"{show('mass', found.dispatched_kg)} to {len(found.customers)} customers"),
        ("Sold over the counter", show("mass", found.sold_at_counter_kg)),
        ("In house", f"{show('mass', found.in_house_kg)}, {show('mass', found.held_kg)} of it on hold"),
        ("Unexplained", show("mass", found.unexplained_kg)),
        ("Accounted for", f"{percent:.1f} %" if percent is not None else "no cheese of it came into stock"),
    ]


def _lot_row(one: Touched) -> Row:
    balance = one.balance
    there = "–" if balance.there is None else amount_words(balance.there, balance.unit)
    off = "–" if balance.unexplained is None else amount_words(balance.unexplained, balance.unit)
    code = Words(f"{one.lot.code} on hold", ALARM) if one.is_held else Words(one.lot.code)
    mass = [show("mass", kg) for kg in (one.dispatched_kg, one.sold_at_counter_kg, one.in_house_kg)]
    return Row((Line((code, lot_words(one.lot), there, *mass, off)),), tinted=one.is_held)


def _contact(course: Course, one: ToCall, time: LocalTime) -> list[tuple[str, str]]:
    customer, mark = one.customer, course.reached.get(one.customer.pk)
    said = f": {mark.note}" if mark and mark.note else ""
    return [
        ("Ask for", customer.contact),
        ("Telephone", customer.phone),
        ("E-mail", customer.email),
        ("Address", customer.address),
        ("Was sent", f"{_pieces(one.pieces)}, {show('mass', one.weight_kg)}"),
        ("Reached", f"{time.moment(mark.at)} by {mark.by.name}{said}" if mark else "______________________________"),
    ]


def _letter(
    premises: Premises,
    course: Course,
    found: Findings,
    one: ToCall,
    time: LocalTime,
    height: float,
    made_at: datetime,
) -> Iterator[Flowable]:
    customer = one.customer
    exercise = course.recall.kind == course.recall.Kind.EXERCISE
    yield Heading(f"To {customer.name}", f"letter-{customer.pk}")
    for line in (*premises.address.splitlines(), customer.contact, *customer.address.splitlines()):
        if line.strip():
            yield words(line)
    yield words(time.day(made_at))
    if exercise:
        yield words(
            own("EXERCISE ONLY: no cheese needs to be returned. Please answer as you would to a recall."), STRONG
        )
    yield words(f"Recall of cheese of {premises.name}", COVER_NAME)
    yield words(
        f"We ask you to stop selling the cheese listed here at once, to keep it apart, cold and marked, and to tell us "
        f"how much of it you still have and whom you passed it on to. The reason: {course.recall.reason}"
    )
    yield RowTable(
        SENT,
        (
            Row(
                (
                    Line(
                        (
                            sent.lot.code,
                            lot_words(sent.lot),
                            time.moment(sent.dispatch.dispatched_at),
                            f"{sent.dispatch.document_type} {sent.dispatch.document_number}",
                            str(sent.pieces),
                            show("mass", sent.weight_kg),
                        )
                    ),
                )
            )
            for sent in one.sent
        ),
        height,
    )
    yield words(f"Together {_pieces(one.pieces)}, {show('mass', one.weight_kg)}.", STRONG)
    yield words(own("Please tell your own customers, and answer with the figures below, by telephone first."), BODY)
    yield Facts([("Still here", "__________ kg"), ("Passed on to", "______________________________")])
    yield words(f"{course.recall.started_by.name}, {premises.name}")


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
