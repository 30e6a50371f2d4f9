"""Calibrations, as found and as left."""

from collections.abc import Iterable, Iterator

from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import day_words
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import (
    ALARM,
    ASIDE,
    QUIET_FACE,
    STRONG,
    Column,
    Line,
    Row,
    RowTable,
    Span,
    Words,
    one_or_more,
)
from haccp.reports.gather.calibrations import CalibrationLine
from haccp.reports.languages import own
from haccp.reports.layout.records import ruling_words
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "calibrations", own("Calibrations")
COLUMNS = (
    Column("Entry", 0.9),
    Column("When", 1.2),
    Column("Instrument", 2.2),
    Column("How", 2.4),
    Column("As found", 1.5),
    Column("As left", 1.5),
    Column("U (k = 2)", 0.9, right=True),
    Column("Valid until", 1.4),
    Column("By", 1.5),
)


def calibrations_section(lines: Iterable[CalibrationLine], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    rows = one_or_more(_row(line, sheet) for line in lines)
    if rows is None:
        yield words(own("No instrument was calibrated in this period."))
        return
    yield RowTable(COLUMNS, rows, sheet.paper.text_height)


def _row(line: CalibrationLine, sheet: Sheet) -> Row:
    until = day_words(line.valid_until) if line.valid_until else Words("✗ out of order", ALARM)
    cells = (
        Words(line.ref, QUIET_FACE),
        sheet.time.short(line.at),
        Words(line.instrument, STRONG),
        "\n".join(part for part in (line.method, line.reference) if part),
        ruling_words(line.found[0]),
        ruling_words(line.left[0]),
        f"{line.uncertainty:g}",
        until,
        line.by,
    )
    spans = [Span(Words(f"As found: {line.found[1]} As left: {line.left[1]}", ASIDE), start=1)]
    if line.doubted:
        spans.append(Span(Words(f"Put {line.doubted} earlier records in doubt.", STRONG), start=1))
    if line.note:
        spans.append(Span(Words(f"Note: {line.note}", ASIDE), start=1))
    return Row((Line(cells), *spans))
