"""One calibration as a paper of its own: what was compared, what was found and left, until when it counts."""

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO
from typing import Any

from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from haccp.calibration.models import Calibration, Doubt, DoubtedReading
from haccp.calibration.queries import doubts_of, is_disposed, readings_doubted_by
from haccp.checks.wording import RULING_WORDS
from haccp.deviations.models import Deviation
from haccp.ledger.models import Entry
from haccp.reports.dates import LocalTime, day_words
from haccp.reports.draw.document import CAUTION, DocumentFacts, PackDocument
from haccp.reports.draw.ink import DOCUMENT_TITLE, SMALL_QUIET
from haccp.reports.draw.lasting import archived
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.paper import Paper, paper_of
from haccp.reports.draw.rows import STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.languages import own
from haccp.science.evaluators.wording import capital
from haccp.science.ruling import Ruling
from haccp.science.units import show, show_difference

COMPARED = (
    Column("Point", 2.4),
    Column("True value", 2, right=True),
    Column("As found", 2, right=True),
    Column("Error found", 2, right=True),
    Column("As left", 2, right=True),
    Column("Error left", 2, right=True),
)
BUFFERS = (Column("Buffer", 2.4), Column("As found, mV", 2, right=True), Column("As left, mV", 2, right=True))
IN_DOUBT = (Column("What", 4), Column("Read", 2), Column("Counts as", 2), Column("Deviation", 1.4))
NOT_ACCREDITED = (
    "A comparison made at the dairy, as it was recorded there. It is not a certificate of an accredited laboratory; "
    "where one was issued, the reference above names it."
)


def certificate_pdf(calibration: Calibration, units: ReaderUnits, *, address: str, made_at: datetime) -> bytes:
    """The bytes of the PDF. address: of the page that its QR code leads to."""
    premises = calibration.premises
    made = BytesIO()
    paper, time = paper_of(premises.jurisdiction), LocalTime(premises.zone)
    name = f"{calibration.instrument.name}, {time.day(calibration.performed_at)}"
    facts = DocumentFacts(
        title=f"Calibration of {name}",
        author=premises.name,
        subject="Calibration of a measuring instrument, as found and as left",
        running_head=f"{premises.name} · calibration of {name}",
    )
    PackDocument(made, paper, facts).draw(_story(calibration, units, time, paper, address, made_at))
    return archived(made.getvalue(), facts)


def _story(
    one: Calibration, units: ReaderUnits, time: LocalTime, paper: Paper, address: str, made_at: datetime
) -> Iterator[Flowable]:
    premises, instrument = one.premises, one.instrument
    entry = Entry.objects.filter(log=premises.log_id, subject=f"calibration:{one.pk}").order_by("index").first()
    yield words(own("Record of a calibration"), DOCUMENT_TITLE)
    yield Facts(
        (
            ("Dairy", ", ".join(part for part in (premises.name, premises.approval_number) if part)),
            ("Instrument", f"{instrument.name}, {instrument.get_kind_display()}"),
            ("Serial", instrument.serial),
            ("Place", instrument.place.name if instrument.place else ""),
            ("Calibrated", f"{time.moment(one.performed_at)} ({premises.zone.key})"),
            ("How", str(one.get_method_display())),
            ("Reference", one.reference),
            ("By", f"{one.recorded_by.name}, entered {time.moment(one.recorded_at)}"),
            ("Counts until", day_words(one.valid_until) if one.valid_until else "left out of order: it does not count"),
            ("Ledger", f"entry {entry.index}" if entry else ""),
        ),
        code=address,
    )
    yield Heading(own("What it showed"), "findings", 1)
    yield Facts((("As found", _ruling(one.found_ruling, one.found_reason)),))
    yield Facts((("As left", _ruling(one.left_ruling, one.left_reason)),))
    if one.tolerance is not None:
        yield Facts(
            (("Largest error allowed", f"± {show_difference(one.quantity, one.tolerance, units.unit(one.quantity))}"),)
        )
    uncertainty = show_difference(one.quantity, one.expanded_uncertainty, units.unit(one.quantity))
    yield Facts((("U (k = 2) from now on", f"{uncertainty}, about 95 %"), ("Note", one.note)))
    if one.points:
        yield Heading(own("What was compared"), "points", 1)
        is_buffers = one.method == Calibration.Method.BUFFERS
        rows = [_buffer(p) if is_buffers else _point(p, one.quantity, units) for p in one.points]
        yield RowTable(BUFFERS if is_buffers else COMPARED, rows, paper.text_height)
    yield from _in_doubt(one, time, paper)
    yield Spacer(1, 8)
    yield words(NOT_ACCREDITED, SMALL_QUIET)
    yield words(f"Printed {time.moment(made_at)}. {CAUTION}", SMALL_QUIET)


def _in_doubt(one: Calibration, time: LocalTime, paper: Paper) -> Iterator[Flowable]:
    """All that rests on the instrument since it was last known to be good, and where it is disposed of."""
    rows: list[tuple[datetime, str, Deviation | None, str]] = [
        (doubt.record.observed_at, _record_words(doubt), doubt.deviation, _counts_as(doubt)) for doubt in doubts_of(one)
    ]
    rows += [
        (reading.read_at, capital(reading.words), reading.deviation, _counts_as(reading))
        for reading in readings_doubted_by(one)
    ]
    if not rows:
        return
    yield Heading(own("What it put in doubt"), "doubts", 1)
    count = f"{len(rows)} earlier readings rest" if len(rows) > 1 else "One earlier reading rests"
    yield words(f"{count} on it. What was not breached before counts as unproven until it is disposed of.")
    cells = (
        (Words(what, STRONG), time.moment(at), counts, deviation.reference if deviation else "no plan")
        for at, what, deviation, counts in sorted(rows, key=lambda row: row[0])
    )
    yield RowTable(IN_DOUBT, [Row((Line(those),)) for those in cells], paper.text_height)


def _counts_as(doubt: Doubt | DoubtedReading) -> str:
    if is_disposed(doubt):
        return "disposed of"
    breached = isinstance(doubt, Doubt) and any(row.ruling == Ruling.BREACHED for row in doubt.rulings.all())
    return RULING_WORDS[Ruling.BREACHED if breached else Ruling.UNPROVEN].word


def _record_words(doubt: Doubt) -> str:
    record = doubt.record
    return f"{record.check_done.name}{f' {record.lot.code}' if record.lot else ''}"


def _ruling(ruling: str, reason: str) -> str:
    shown = RULING_WORDS[ruling]
    return f"{shown.sign} {shown.word}. {reason}"


def _point(point: dict[str, Any], quantity: str, units: ReaderUnits) -> Row:
    true, found, left = (point.get(name) for name in ("true", "found", "left"))
    unit = units.unit(quantity)

    def value(one: float | None) -> str:
        return "–" if one is None else show(quantity, one, unit)

    def error(one: float | None) -> str:
        return "–" if one is None or true is None else show_difference(quantity, one - true, unit)

    cells = (
        Words(str(point["label"]).capitalize(), STRONG),
        value(true),
        value(found),
        error(found),
        value(left),
        error(left),
    )
    return Row((Line(cells),))


def _buffer(point: dict[str, Any]) -> Row:
    left = point.get("mv_left")
    return Row(
        (Line((Words(f"pH {point['ph']}", STRONG), f"{point['mv_found']}", "–" if left is None else f"{left}")),)
    )
