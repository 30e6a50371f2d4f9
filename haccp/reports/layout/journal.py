"""Sections of entries that are told in one way: when, what, of what, in words, by whom."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import ALARM, LINK, PLAIN, QUIET_FACE, STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.journal import JournalLine
from haccp.reports.languages import own
from haccp.reports.layout.batches import batch_key
from haccp.reports.layout.sheet import Sheet

LINES_PER_TICK = 10


@dataclass(frozen=True, slots=True)
class Journal:
    """nothing: what is said where there is no entry. note: under the title, or empty."""

    title: str
    key: str
    about: str
    nothing: str
    note: str = ""


JOURNALS = {
    journal.key: journal
    for journal in (
        Journal(
            own("Releases, dispatches and sales"),
            "trade",
            own("Batch or customer"),
            own("Nothing was released, dispatched or sold in this period."),
        ),
        Journal(
            own("Milk and ingredients: found, accepted, counted"),
            "receiving",
            own("Lot or supplier"),
            own("Nothing was found of milk or ingredients beside the records of their checks."),
        ),
        Journal(
            own("Care and weights of the cheese"),
            "care",
            own("Room or batch"),
            own("No care and no weight was entered in this period."),
        ),
        Journal(
            own("Air of the rooms: readings and loggers"),
            "rooms",
            own("Room"),
            own("Nothing was read in the rooms beside the records of their checks."),
        ),
        Journal(
            own("Swabs by zone"),
            "swabs",
            own("Place"),
            own("No swab was taken or reported in this period."),
            own("Zone 1 touches the cheese, 2 is near it, 3 in the room, 4 outside the rooms."),
        ),
        Journal(
            own("Cleaning methods and chemicals used"),
            "cleanings",
            own("Place"),
            own("No cleaning of this period names its method."),
            own("What belongs to the records of the cleaning logs: how it was cleaned, and with which lots."),
        ),
        Journal(
            own("Records in doubt because of an instrument"),
            "doubts",
            own("Instrument"),
            own("No calibration of this period put a record in doubt."),
            own(
                "The records themselves are not changed: a doubt is a further entry, and stands until its "
                "deviation is closed."
            ),
        ),
        Journal(
            own("Training given, and until when it counts"),
            "trainings",
            own("Who"),
            own("No training of anybody counted in this period."),
        ),
        Journal(
            own("Who kept the checks, absences and closed periods"),
            "arrangements",
            own("Who or what"),
            own("Nobody was away, and the dairy was not closed."),
        ),
    )
}


def journal_section(
    journal: Journal, lines: Iterable[JournalLine], shown: Collection[UUID], sheet: Sheet
) -> Iterator[Flowable]:
    """shown: batches that this document has a part of their own for."""
    yield Heading(journal.title, journal.key)
    there = list(lines)
    if not there:
        yield words(journal.nothing)
        return
    if journal.note:
        yield words(journal.note, SMALL_QUIET)
    columns = (
        Column("Entry", 0.8),
        Column("When", 1.5),
        Column("What", 1.8),
        Column(journal.about, 2.0),
        Column("In words", 4.4),
        Column("By", 1.4),
    )
    yield RowTable(columns, _rows(there, shown, sheet), sheet.paper.text_height)


def _rows(lines: Iterable[JournalLine], shown: Collection[UUID], sheet: Sheet) -> Iterator[Row]:
    for number, line in enumerate(lines, start=1):
        yield _row(line, shown, sheet)
        if number % LINES_PER_TICK == 0:
            sheet.tick(1)


def _row(line: JournalLine, shown: Collection[UUID], sheet: Sheet) -> Row:
    told = line.told
    link = batch_key(told.lot_id) if told.lot_id is not None and told.lot_id in shown else ""
    cells = (
        Words(line.ref, QUIET_FACE),
        sheet.time.one_line(told.at),
        Words(told.what, ALARM if told.is_bad else STRONG),
        Words(told.about, LINK if link else PLAIN, link),
        told.text,
        told.by,
    )
    return Row((Line(cells),), tinted=told.is_bad)
