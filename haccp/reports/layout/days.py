"""Days of the period, signed off and reviewed."""

from collections.abc import Iterator
from datetime import datetime

from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import day_words
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import ALARM, PLAIN, QUIET_FACE, STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.days import Day
from haccp.reports.layout.sheet import Sheet

KEY = "days"
TITLE = "Days signed off and reviewed"
COLUMNS = (
    Column("Day", 1.9),
    Column("Records", 1, right=True),
    Column("Missed", 1, right=True),
    Column("Signed off as complete", 3.4),
    Column("Reviewed by a second person", 3.4),
    Column("Entered since", 1.7),
)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def days_section(days: tuple[Day, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not days:
        yield words("No day of this period had begun when the pack was made.")
        return
    yield words(
        "Entered since: records, reasons and events of that day that were entered after its last signature.",
        SMALL_QUIET,
    )
    yield RowTable(COLUMNS, (_row(day, sheet) for day in days), sheet.paper.text_height)


def _row(day: Day, sheet: Sheet) -> Row:
    return Row(
        (
            Line(
                (
                    f"{WEEKDAYS[day.day.weekday()]} {day_words(day.day)}",
                    str(day.records),
                    Words(str(day.missed), ALARM if day.missed else PLAIN),
                    _signed(day.signed_off, sheet),
                    _signed(day.reviewed, sheet),
                    Words(f"{day.later_entries} later", STRONG) if day.later_entries else "",
                )
            ),
        )
    )


def _signed(signed: tuple[str, datetime] | None, sheet: Sheet) -> Words | str:
    if signed is None:
        return Words("–", QUIET_FACE)
    name, at = signed
    return f"✓ {name}, {sheet.time.moment(at)}"
