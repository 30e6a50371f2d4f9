"""Days of the period, signed off and reviewed."""

from collections.abc import Iterator
from datetime import datetime

from django.utils.dates import WEEKDAYS_ABBR
from django.utils.translation import gettext
from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import day_words
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import ALARM, PLAIN, QUIET_FACE, STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.days import Day
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY = "days"
TITLE = own("Days signed off and reviewed")
COLUMNS = (
    Column("Day", 1.9),
    Column("Records", 1, right=True),
    Column("Missed", 1, right=True),
    Column("Signed off as complete", 3.4),
    Column("Reviewed by a second person", 3.4),
    Column("Entered since", 1.7),
)


def days_section(days: tuple[Day, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not days:
        yield words(own("No day of this period had begun when the pack was made."))
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
                    f"{WEEKDAYS_ABBR[day.day.weekday()]} {day_words(day.day)}",
                    str(day.records),
                    Words(str(day.missed), ALARM if day.missed else PLAIN),
                    _signed(day.signed_off, sheet),
                    _signed(day.reviewed, sheet),
                    Words(gettext("{count} later").format(count=day.later_entries), STRONG)
                    if day.later_entries
                    else "",
                )
            ),
        )
    )


def _signed(signed: tuple[str, datetime] | None, sheet: Sheet) -> Words | str:
    if signed is None:
        return Words("–", QUIET_FACE)
    name, at = signed
    return f"✓ {name}, {sheet.time.moment(at)}"
