"""Every signature that the pack speaks of, with what was attested."""

from collections.abc import Iterator

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import QUIET_FACE, Column, Line, Row, RowTable, Words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.signatures import SignatureLine
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY = "signatures"
TITLE = own("Signatures")
COLUMNS = (
    Column("Entry", 0.9),
    Column("Signed", 1.2),
    Column("Name", 1.9),
    Column("Of what", 2.6),
    Column("Attested", 4.2),
    Column("Content signed", 1.9),
)
SHOWN_DIGITS = 16


def signatures_section(lines: tuple[SignatureLine, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not lines:
        yield words(own("Nothing in this pack was signed."))
        return
    yield words(
        "Each person proved who they were with their password at the moment of signing. “Content signed” is the "
        f"beginning of the SHA-256 of exactly what was shown to them ({SHOWN_DIGITS} of 64 digits; whole in "
        "records.json).",
        SMALL_QUIET,
    )
    yield RowTable(COLUMNS, (_row(line, sheet) for line in lines), sheet.paper.text_height)


def _row(line: SignatureLine, sheet: Sheet) -> Row:
    cells = (
        Words(line.ref, QUIET_FACE),
        sheet.time.short(line.signed_at),
        Words(line.printed_name, STRONG_FACE),
        line.what,
        f"“{line.statement}”",
        line.content_sha256[:SHOWN_DIGITS],
    )
    return Row((Line(cells),))
