"""Batches from the milk to the shelf: what went in, what happened, what holds them; and the milk lots."""

from collections.abc import Iterable, Iterator
from uuid import UUID

from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from batches.release.gate import Gate
from batches.release.points import Point, Standing
from haccp.reports.dates import day_words
from haccp.reports.draw.ink import SMALL_QUIET, STRONG
from haccp.reports.draw.marks import ContentsLine, Facts, Heading, words
from haccp.reports.draw.rows import ALARM, PLAIN, QUIET_FACE, Column, Line, Row, RowTable, Words, one_or_more
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.batches import BatchSheet, Happening, MilkLine
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "batches", own("Batches, from milk to shelf")
MILK_KEY, MILK_TITLE = "milk", own("Milk and ingredients")
HAPPENINGS = (
    Column("Entry", 0.9),
    Column("When", 1.75),
    Column("What", 1.9),
    Column("Where", 1.7),
    Column("Note", 3.35),
    Column("By", 1.6),
)
GATE = (Column("Matter", 1.4), Column("Standing", 1.4), Column("In words", 7.2))
GATE_WORDS = {
    Standing.OUTSTANDING: ("✗", "outstanding"),
    Standing.UNPROVEN: ("?", "unproven"),
    Standing.MET: ("✓", "met"),
}
MILK = (
    Column("Entry", 0.8),
    Column("Received", 1.2),
    Column("Lot", 1.5),
    Column("What", 2.9),
    Column("Amount", 1.0, right=True),
    Column("Went into", 3.6),
    Column("By", 1.4),
)
TICKS = 4


def batch_key(lot_id: UUID) -> str:
    return f"batch-{lot_id}"


def batches_section(
    sheets: Iterable[BatchSheet], charts: dict[str, list[tuple[str, str]]], sheet: Sheet
) -> Iterator[Flowable]:
    """charts: code of a batch -> (title, key) of each chart of it in this document."""
    yield Heading(TITLE, KEY)
    shown = False
    for batch in sheets:
        yield CondPageBreak(170)
        yield Heading(title_of(batch), batch_key(batch.id), 1)
        yield from batch_body(batch, charts.get(batch.code, []), sheet)
        yield Spacer(1, 8)
        sheet.tick(TICKS)
        shown = True
    if not shown:
        yield words(own("No batch was begun in this period, and no record of it is about one."))


def title_of(batch: BatchSheet) -> str:
    return " · ".join(part for part in (batch.code, batch.product) if part)


def batch_body(batch: BatchSheet, charts: list[tuple[str, str]], sheet: Sheet) -> Iterator[Flowable]:
    yield Facts(
        (
            ("Begun", sheet.time.moment(batch.begun_at) + (f", {batch.vat}" if batch.vat else "")),
            (
                "Made of",
                "\n".join(
                    f"{amount} of {kind} {code}" if amount else f"{kind} {code}" for code, kind, amount in batch.made_of
                ),
            ),
            ("Procedure", batch.procedure),
            ("Note", batch.note),
            ("Ageing", batch.ageing),
            ("Stock", batch.stock),
            ("Went to", "\n".join(batch.went_to)),
            ("On hold", "\n".join(batch.holds_standing) or "no hold stands"),
            ("Ledger", f"entry {batch.ref.lstrip('#')}"),
        ),
        size=9,
        code=sheet.addresses.batch(batch.id),
    )
    for title, key in charts:
        yield ContentsLine(title, key, 1)
    if batch.gate is not None:
        yield from _gate(batch.gate, sheet)
    yield Spacer(1, 3)
    rows = one_or_more(_happening(one, sheet) for one in batch.happenings)
    if rows is not None:
        yield RowTable(HAPPENINGS, rows, sheet.paper.text_height)


def _gate(gate: Gate, sheet: Sheet) -> Iterator[Flowable]:
    """Every point of the release gate, what is in the way first."""
    if gate.is_open:
        yield words(own("The release gate is open: every point is met."), STRONG)
    else:
        yield words(own("What stands in its way, by what is recorded"), STRONG)
    yield RowTable(GATE, map(_point, gate.points), sheet.paper.text_height)
    yield Spacer(1, 4)


def _point(point: Point) -> Row:
    sign, word = GATE_WORDS[point.standing]
    earliest = f" Not before {day_words(point.earliest)}." if point.earliest else ""
    standing = Words(f"{sign} {word}", PLAIN if point.is_met else ALARM)
    return Row((Line((point.matter.value, standing, point.words + earliest)),))


def _happening(one: Happening, sheet: Sheet) -> Row:
    what = Words(one.what, ALARM if one.is_bad else STRONG_FACE)
    return Row((Line((Words(one.ref, QUIET_FACE), sheet.time.one_line(one.at), what, one.where, one.note, one.by)),))


def milk_section(lines: Iterable[MilkLine], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(MILK_TITLE, MILK_KEY)
    rows = one_or_more(_milk(line, sheet) for line in lines)
    if rows is None:
        yield words(own("No milk or ingredient lot in this period."))
        return
    yield words(own("Amounts as they were typed; what went into a batch in litres or kilograms."), SMALL_QUIET)
    yield RowTable(MILK, rows, sheet.paper.text_height)


def _milk(line: MilkLine, sheet: Sheet) -> Row:
    used = ", ".join(f"{code} {amount}".strip().replace(" ", "\u00a0") for code, amount in line.used_in)
    about = "\n".join(part for part in (line.kind, line.about) if part)
    cells = (
        Words(line.ref, QUIET_FACE),
        sheet.time.short(line.received_at),
        Words(line.code, STRONG_FACE),
        about,
        line.amount,
        Words(used, PLAIN) if used else Words("not used", QUIET_FACE),
        line.by,
    )
    return Row((Line(cells),))
