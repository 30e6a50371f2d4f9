"""The records of each control point, every one with what it was judged by."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext
from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.checks.wording import RULING_WORDS
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.rows import (
    ALARM,
    ASIDE,
    LINK,
    PLAIN,
    QUIET_FACE,
    STRONG,
    Column,
    Face,
    Line,
    Row,
    RowTable,
    Span,
    Stack,
    Words,
    one_or_more,
)
from haccp.reports.gather.record_lines import Judged, RecordLine
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet
from haccp.science.ruling import Ruling

COLUMNS = (
    Column("Entry", 0.95),
    Column("Observed", 1.2),
    Column("Of, check", 2.4),
    Column("Reading", 2.75),
    Column("Limit", 3.35),
    Column("Ruling", 1.55),
    Column("With, by", 1.9),
)
SAID_WHY = (Ruling.CLOSE, Ruling.BREACHED, Ruling.UNPROVEN)
HOW_TO_READ = own(
    "Entry: the record's number in the ledger, under which the attached records.json holds it. Readings stand as they "
    "were typed. An amended record stays, marked so, with its change under it."
)


@dataclass(frozen=True, slots=True)
class PointRecords:
    """deviation_ids: those that the pack shows, so that a row can lead to them."""

    title: str
    key: str
    limits: tuple[str, ...]
    corrective_action: str
    lines: Iterable[RecordLine]
    deviation_ids: frozenset[UUID]


def section_head(title: str, key: str) -> Iterator[Flowable]:
    yield Heading(title, key)
    yield words(HOW_TO_READ, SMALL_QUIET)


def point_records(point: PointRecords, sheet: Sheet) -> Iterator[Flowable]:
    yield CondPageBreak(150)
    yield Heading(point.title, point.key, 1)
    yield Facts((("Limits", "\n".join(point.limits)), ("If not met", point.corrective_action)), size=9)
    yield Spacer(1, 4)
    rows = one_or_more(_rows(point, sheet))
    if rows is None:
        yield words(own("No record in this period."))
        return
    yield RowTable(COLUMNS, rows, sheet.paper.text_height)


def _rows(point: PointRecords, sheet: Sheet) -> Iterator[Row]:
    for line in point.lines:
        yield record_row(line, point.deviation_ids, sheet)
        sheet.tick(1)


def record_key(record_id: UUID) -> str:
    return f"record-{record_id}"


def deviation_key(deviation_id: UUID) -> str:
    return f"deviation-{deviation_id}"


def record_row(line: RecordLine, deviation_ids: frozenset[UUID], sheet: Sheet) -> Row:
    beside = Line(
        (
            Words(line.ref, QUIET_FACE, href=sheet.addresses.record(line.id)),
            sheet.time.short(line.observed_at),
            f"{line.about}\n{line.check}",
            "",
            "",
            "",
            "\n".join(part for part in (line.instrument, line.by) if part),
        )
    )
    judged = tuple(Line(("", "", "", *_judged_cells(one), "")) for one in line.judged)
    parts: list[Line | Stack | Span] = [Stack(beside, judged)]
    parts += _asides(line, deviation_ids, sheet)
    wrong = any(one.ruling in (Ruling.BREACHED, Ruling.UNPROVEN) for one in line.judged)
    is_led_to = bool(line.amended_by) or any(one.deviation_id in deviation_ids for one in line.judged)
    anchor = record_key(line.id) if is_led_to else ""
    return Row(tuple(parts), anchor=anchor, tinted=wrong and not line.amended_by)


def _judged_cells(judged: Judged) -> tuple[Words | str, ...]:
    return (
        "\n".join(judged.readings),
        judged.limit or Words(gettext("no limit"), QUIET_FACE),
        ruling_words(judged.ruling),
    )


def ruling_words(ruling: str) -> Words:
    if not ruling:
        return Words("–", QUIET_FACE)
    shown = RULING_WORDS[ruling]
    return Words(f"{shown.sign} {gettext(shown.word)}", _face(ruling))


def _face(ruling: str) -> Face:
    if ruling in (Ruling.BREACHED, Ruling.UNPROVEN):
        return ALARM
    return STRONG if ruling == Ruling.CLOSE else PLAIN


def _asides(line: RecordLine, deviation_ids: frozenset[UUID], sheet: Sheet) -> Iterator[Span]:
    """What is said under the row: lateness, note, amendment, reasons, deviations."""
    if line.is_late:
        yield _aside(gettext("Recorded later: {moment}.").format(moment=sheet.time.moment(line.recorded_at)))
    if line.note:
        yield _aside(gettext("Note: {note}").format(note=line.note))
    if line.amends:
        said = gettext("Amends entry {number}. Reason: {reason}")
        yield Span(Words(said.format(number=line.amends[1:], reason=line.amend_reason), STRONG), start=1)
    if line.amended_by:
        said = gettext("Amended by entry {number}; this is the original.")
        yield Span(Words(said.format(number=line.amended_by[1:]), STRONG), start=1)
    for judged in line.judged:
        if judged.ruling in SAID_WHY:
            yield _aside(judged.reason)
        if judged.deviation:
            shown = judged.deviation_id in deviation_ids and judged.deviation_id is not None
            link = deviation_key(judged.deviation_id) if shown and judged.deviation_id else ""
            yield Span(
                Words(gettext("Deviation {number}").format(number=judged.deviation), LINK if link else PLAIN, link),
                start=1,
            )


def _aside(text: str) -> Span:
    return Span(Words(text, ASIDE), start=1)
