"""Releases, dispatches and sales, losses, what came back, and recalls."""

from collections.abc import Collection, Iterable, Iterator
from uuid import UUID

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import ALARM, LINK, QUIET_FACE, STRONG, Column, Line, Row, RowTable, Words, one_or_more
from haccp.reports.gather.trade import TradeLine
from haccp.reports.layout.batches import batch_key
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "trade", "Releases, dispatches and sales"
COLUMNS = (
    Column("Entry", 0.8),
    Column("When", 1.5),
    Column("What", 1.7),
    Column("Batch or customer", 2.3),
    Column("In words", 4.2),
    Column("By", 1.5),
)
BAD = ("lost or destroyed", "came back")


def trade_section(lines: Iterable[TradeLine], shown: Collection[UUID], sheet: Sheet) -> Iterator[Flowable]:
    """shown: batches that this document has a part of their own for."""
    yield Heading(TITLE, KEY)
    rows = one_or_more(_row(line, shown, sheet) for line in lines)
    if rows is None:
        yield words("Nothing was released, dispatched or sold in this period.")
        return
    yield RowTable(COLUMNS, rows, sheet.paper.text_height)


def _row(line: TradeLine, shown: Collection[UUID], sheet: Sheet) -> Row:
    about = Words(line.about, LINK, batch_key(line.lot_id)) if line.lot_id in shown and line.lot_id else line.about
    what = Words(line.what, ALARM if line.what in BAD else STRONG)
    return Row((Line((Words(line.ref, QUIET_FACE), sheet.time.one_line(line.at), what, about, line.text, line.by)),))
