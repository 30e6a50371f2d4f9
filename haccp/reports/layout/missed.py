"""Checks that nobody did, each with its reason."""

from collections.abc import Iterable, Iterator
from uuid import UUID

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import (
    ALARM,
    LINK,
    PLAIN,
    QUIET_FACE,
    Column,
    Line,
    Row,
    RowTable,
    Words,
    one_or_more,
)
from haccp.reports.gather.missed import MissedLine
from haccp.reports.languages import own
from haccp.reports.layout.records import deviation_key
from haccp.reports.layout.sheet import Sheet

KEY = "missed"
TITLE = own("Missed checks")
COLUMNS = (
    Column("Entry", 0.9),
    Column("Was due", 1.2),
    Column("Check", 2.6),
    Column("Of", 1.7),
    Column("Reason", 3.8),
    Column("Said by", 1.6),
    Column("Deviation", 1.4),
)


def missed_section(lines: Iterable[MissedLine], deviation_ids: frozenset[UUID], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    rows = one_or_more(_rows(lines, deviation_ids, sheet))
    if rows is None:
        yield words(own("No check was missed in this period."))
        return
    yield words(
        own("A check is flagged as missed by the running schedule when its time of grace has ended."), SMALL_QUIET
    )
    yield RowTable(COLUMNS, rows, sheet.paper.text_height)


def _rows(lines: Iterable[MissedLine], deviation_ids: frozenset[UUID], sheet: Sheet) -> Iterator[Row]:
    for line in lines:
        yield _row(line, deviation_ids, sheet)
        sheet.tick(1)


def _row(line: MissedLine, deviation_ids: frozenset[UUID], sheet: Sheet) -> Row:
    said = f"{line.given_by}\n{sheet.time.moment(line.given_at)}" if line.given_at else ""
    link = deviation_key(line.deviation_id) if line.deviation_id in deviation_ids and line.deviation_id else ""
    return Row(
        (
            Line(
                (
                    Words(line.ref, QUIET_FACE),
                    sheet.time.short(line.due_at),
                    f"{line.check}\n{line.control_point}",
                    line.about,
                    line.reason or Words("no reason given yet", ALARM),
                    said,
                    Words(line.deviation, LINK if link else PLAIN, link),
                )
            ),
        )
    )
