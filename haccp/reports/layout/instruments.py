"""Instruments and their calibration, as the records rely on them."""

from collections.abc import Iterator

from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import day_words
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import ALARM, ASIDE, Column, Line, Row, RowTable, Span, Words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.instruments import InstrumentLine
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "instruments", own("Instruments and their calibration")
COLUMNS = (
    Column("Instrument", 2.4),
    Column("Kind", 1.6),
    Column("Serial", 1.3),
    Column("Place", 1.4),
    Column("U (k = 2)", 0.9, right=True),
    Column("Calibrated", 1.3),
    Column("Valid until", 1.3),
    Column("Records", 0.9, right=True),
)


def instruments_section(lines: tuple[InstrumentLine, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not lines:
        yield words(own("No instrument is named by these records."))
        return
    yield words(
        own(
            "As they stood when this was printed. U: expanded uncertainty, k = 2 (about 95 %), in the unit of what is "
            "measured; each record keeps the uncertainty and the calibration that it was judged with."
        ),
        SMALL_QUIET,
    )
    yield RowTable(COLUMNS, map(_row, lines), sheet.paper.text_height)


def _row(line: InstrumentLine) -> Row:
    until = day_words(line.valid_until) if line.valid_until else "none on file"
    cells = (
        Words(line.name, STRONG_FACE),
        line.kind,
        line.serial or "–",
        line.place or "–",
        f"{line.uncertainty:g}",
        day_words(line.calibrated_on) if line.calibrated_on else "–",
        Words(f"✗ {until}", ALARM) if line.unfit else until,
        str(line.records),
    )
    unfit = (Span(Words(f"{line.unfit[0].upper()}{line.unfit[1:]}.", ASIDE)),) if line.unfit else ()
    return Row((Line(cells), *unfit))
