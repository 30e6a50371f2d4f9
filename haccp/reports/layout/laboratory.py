"""Laboratory results, each with the plan that it was taken by."""

from collections.abc import Iterable, Iterator
from uuid import UUID

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import (
    ASIDE,
    LINK,
    PLAIN,
    QUIET_FACE,
    STRONG,
    Column,
    Line,
    Row,
    RowTable,
    Span,
    Stack,
    Words,
    one_or_more,
)
from haccp.reports.gather.laboratory import ResultLine, SampleLine
from haccp.reports.languages import own
from haccp.reports.layout.records import deviation_key, ruling_words
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "laboratory", own("Laboratory results and their sampling plans")
COLUMNS = (
    Column("Entry", 0.9),
    Column("Taken", 1.2),
    Column("Sample, of", 2.2),
    Column("Asked, by which plan", 3.2),
    Column("Result", 2.6),
    Column("Ruling", 1.5),
    Column("Laboratory, report", 2.2),
)


def laboratory_section(
    samples: Iterable[SampleLine], deviation_ids: frozenset[UUID], sheet: Sheet
) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    rows = one_or_more(_row(sample, deviation_ids, sheet) for sample in samples)
    if rows is None:
        yield words(own("No sample was taken in this period."))
        return
    yield words(
        own(
            "n: units taken; c: how many of them may lie between m and M; M: what none may exceed. A result that was "
            "replaced stays, marked so."
        ),
        SMALL_QUIET,
    )
    yield RowTable(COLUMNS, rows, sheet.paper.text_height)


def _row(sample: SampleLine, deviation_ids: frozenset[UUID], sheet: Sheet) -> Row:
    beside = Line(
        (
            Words(sample.ref, QUIET_FACE),
            sheet.time.short(sample.taken_at),
            f"{sample.code}\n{sample.of}" + (f", {sample.spot}" if sample.spot else ""),
            "",
            "",
            "",
            sample.laboratory,
        )
    )
    parts: list[Line | Stack | Span] = [Stack(beside, tuple(_result(one) for one in sample.results))]
    for one in sample.results:
        parts += _asides(one, deviation_ids)
    if sample.note:
        parts.append(Span(Words(f"Note: {sample.note}", ASIDE), start=1))
    verified = f"Verifies {sample.verifies}; recorded by {sample.by}."
    parts.append(Span(Words(verified, ASIDE), start=1))
    return Row(tuple(parts))


def _result(one: ResultLine) -> Line:
    values = f"{one.values} (replaced)" if one.replaced else one.values
    return Line(
        (
            "",
            "",
            "",
            f"{one.parameter}\n{one.plan}",
            Words(values, QUIET_FACE if one.replaced else STRONG) if values else Words("no result yet", QUIET_FACE),
            ruling_words(one.ruling),
            f"\n{one.report}" if one.report else "",
        )
    )


def _asides(one: ResultLine, deviation_ids: frozenset[UUID]) -> Iterator[Span]:
    said = "; ".join(part for part in (one.reason, one.source) if part)
    entry = f"Entry {one.ref.lstrip('#')}: " if one.ref else ""
    if said:
        yield Span(Words(f"{entry}{one.parameter}: {said}", ASIDE), start=1)
    if one.deviation:
        shown = one.deviation_id is not None and one.deviation_id in deviation_ids
        link = deviation_key(one.deviation_id) if shown and one.deviation_id else ""
        yield Span(Words(f"Deviation {one.deviation}", LINK if link else PLAIN, link), start=1)
