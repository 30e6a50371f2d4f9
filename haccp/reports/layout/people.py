"""The people behind the records."""

from collections.abc import Iterator

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import QUIET_FACE, STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.people import PersonLine
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "people", own("People and their roles")
COLUMNS = (
    Column("Entry", 0.9),
    Column("Name", 3),
    Column("Role", 2),
    Column("Since", 2),
    Column("Until", 2),
    Column("Records in this document", 1.8, right=True),
)


def people_section(lines: tuple[PersonLine, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not lines:
        yield words(own("Nobody entered a record here."))
        return
    yield RowTable(COLUMNS, (_row(line, sheet) for line in lines), sheet.paper.text_height)


def _row(line: PersonLine, sheet: Sheet) -> Row:
    ref = line.ref if line.ref.startswith("#") else ""
    until = sheet.time.day(line.left_at) if line.left_at else "–"
    return Row(
        (
            Line(
                (
                    Words(ref, QUIET_FACE),
                    Words(line.name, STRONG),
                    line.role,
                    sheet.time.day(line.since),
                    until,
                    str(line.records),
                )
            ),
        )
    )
