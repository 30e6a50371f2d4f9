"""Deviations: what happened, what was implicated, what was done, who closed it."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext
from reportlab.platypus import CondPageBreak, KeepTogether, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL, STRONG
from haccp.reports.draw.marks import Facts, Heading, Linked, Panel, words
from haccp.reports.draw.rows import QUIET_FACE, Column, Line, Row, RowTable, Words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.deviation_sheets import DeviationSheet, StepLine
from haccp.reports.languages import own
from haccp.reports.layout.records import deviation_key, record_key
from haccp.reports.layout.sheet import Sheet

KEY = "deviations"
TITLE = own("Deviations and corrective actions")
IMPLICATED = (Column("Lot", 1.6), Column("Product", 2.4), Column("Why it is implicated", 6))
STEPS = (
    Column("Entry", 0.9),
    Column("When", 1.2),
    Column("Step", 2.2),
    Column("Lot, disposition", 2.2),
    Column("In their words", 4.4),
    Column("By", 1.5),
)
TICKS = 3
SHORT = 14


def deviations_section(sheets: Iterable[DeviationSheet], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    shown = False
    for deviation in sheets:
        yield from _kept_together(deviation, sheet)
        sheet.tick(TICKS)
        shown = True
    if not shown:
        yield words(own("No deviation was open or occurred in this period."))


def _kept_together(deviation: DeviationSheet, sheet: Sheet) -> Iterator[Flowable]:
    """A short one is not cut; a long one begins where some of it fits."""
    if len(deviation.implicated) + len(deviation.steps) <= SHORT:
        yield KeepTogether([*_deviation(deviation, sheet)])
    else:
        yield CondPageBreak(180)
        yield from _deviation(deviation, sheet)


def title_of(deviation: DeviationSheet) -> str:
    state = gettext("closed") if deviation.closed else gettext("open")
    return f"{deviation.reference} · {deviation.control_point} · {state}"


def _deviation(deviation: DeviationSheet, sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(title_of(deviation), deviation_key(deviation.id), 1)
    yield words(deviation.summary, STRONG)
    since = (
        sheet.time.moment(deviation.exposed_from)
        if deviation.exposed_from
        else gettext("no earlier check that was met")
    )
    yield Facts(
        (
            ("Occurred", sheet.time.moment(deviation.occurred_at)),
            ("Opened", f"{sheet.time.moment(deviation.opened_at)}, {deviation.opened_by}"),
            ("Because of", deviation.cause),
            ("Ruling", deviation.reason),
            ("Last met before it", since),
            ("The plan prescribes", deviation.prescribed),
            ("Ledger", f"entry {deviation.ref.lstrip('#')}" + _missed(deviation)),
        ),
        size=9,
        code=sheet.addresses.deviation(deviation.id),
    )
    if deviation.record is not None:
        ref, record_id = deviation.record
        yield Linked(f"The record that opened it: entry {ref.lstrip('#')}", record_key(record_id), SMALL)
    yield Spacer(1, 3)
    yield from _product(deviation, sheet)
    yield from _steps(deviation, sheet)
    yield from _closure(deviation, sheet)


def _missed(deviation: DeviationSheet) -> str:
    return f"; missed check, entry {deviation.missed_ref.lstrip('#')}" if deviation.missed_ref else ""


def _product(deviation: DeviationSheet, sheet: Sheet) -> Iterator[Flowable]:
    if not deviation.implicated:
        yield words(own("No lot was implicated."), SMALL)
        return
    rows = (Row((Line((Words(lot, STRONG_FACE), product, why)),)) for lot, product, why in deviation.implicated)
    yield RowTable(IMPLICATED, rows, sheet.paper.text_height)
    yield Spacer(1, 5)


def _steps(deviation: DeviationSheet, sheet: Sheet) -> Iterator[Flowable]:
    if not deviation.steps:
        yield words(own("No corrective action has been recorded yet."), SMALL)
        return
    yield RowTable(STEPS, (_step(step, sheet) for step in deviation.steps), sheet.paper.text_height)


def _step(step: StepLine, sheet: Sheet) -> Row:
    decided = "\n".join(part for part in (step.lot, step.disposition) if part)
    cells = (Words(step.ref, QUIET_FACE), sheet.time.short(step.at), step.kind, decided, step.text, step.by)
    return Row((Line(cells),))


def _closure(deviation: DeviationSheet, sheet: Sheet) -> Iterator[Flowable]:
    closed = deviation.closed
    if closed is None:
        yield Panel(("Open when this pack was made.",))
        return
    yield Panel(
        (
            f"Closed and signed by {closed.by}, {sheet.time.moment(closed.at)}: “{closed.statement}”",
            f"Signature: ledger entry {closed.ref.lstrip('#')}; content signed: SHA-256 {closed.content_sha256}",
        )
    )
