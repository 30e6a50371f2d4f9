"""The order of a visit pack, and its drawing into a file."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from reportlab.platypus import CondPageBreak, PageBreak
from reportlab.platypus.flowables import Flowable

from haccp.reports.dates import LocalTime, day_words
from haccp.reports.draw.attachment import attach_records
from haccp.reports.draw.document import DocumentFacts, Drawn, PackDocument
from haccp.reports.draw.marks import words
from haccp.reports.draw.paper import paper_of
from haccp.reports.gather.acidity_curves import AcidityCurve, acidity_curves
from haccp.reports.gather.counts import Counts, counts_of, point_key
from haccp.reports.gather.days import Day, days_of
from haccp.reports.gather.deviation_sheets import DeviationSheet, deviation_sheets
from haccp.reports.gather.evidence import Evidence, evidence_of
from haccp.reports.gather.heat_treatments import count_with_trace, heat_treatments
from haccp.reports.gather.missed import missed_lines
from haccp.reports.gather.period import Period
from haccp.reports.gather.plan_sheets import PointSheet, RevisionSheet, revision_sheets
from haccp.reports.gather.record_lines import record_lines
from haccp.reports.gather.room_climate import RoomClimate, room_climates
from haccp.reports.gather.scope import PackScope, PointScope, scope_of
from haccp.reports.gather.signatures import SignatureLine, signature_lines
from haccp.reports.layout import (
    acidity,
    climate,
    contents,
    cover,
    days,
    deviations,
    heat,
    missed,
    plan,
    records,
    signatures,
    summary,
    verification,
)
from haccp.reports.layout.contents import Entry
from haccp.reports.layout.sheet import Sheet

CCP_RECORDS = Entry("Records of critical control points", "ccp-records")
CLEANING = Entry("Cleaning logs", "cleaning")
PREREQUISITES = Entry("Records of other prerequisite programmes", "prerequisites")
SECTION_TICKS = 5
# Of a page: a section's heading with its first picture.
ROOM_TO_BEGIN = 0.4

Report = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Gathered:
    """Everything but the long tables and the traces, which are read while they are drawn."""

    scope: PackScope
    evidence: Evidence
    counts: Counts
    days: tuple[Day, ...]
    revisions: tuple[RevisionSheet, ...]
    curves: tuple[AcidityCurve, ...]
    rooms: tuple[RoomClimate, ...]
    deviations: tuple[DeviationSheet, ...]
    signatures: tuple[SignatureLine, ...]
    treatment_count: int

    @property
    def deviation_ids(self) -> frozenset[UUID]:
        return frozenset(one.id for one in self.deviations)

    def contents(self) -> dict[str, int]:
        """section -> number of rows or pictures it shows, for the list of packs."""
        return {
            "records": len(self.scope.record_ids),
            "critical control points": sum(len(point.record_ids) for point in self.scope.critical),
            "cleaning": sum(len(point.record_ids) for point in self.scope.cleaning),
            "other prerequisites": sum(len(point.record_ids) for point in self.scope.other_prerequisites),
            "amendments": self.counts.amendments,
            "heat treatments": self.treatment_count,
            "acidity curves": len(self.curves),
            "room charts": len(self.rooms),
            "missed checks": len(self.scope.missed_ids),
            "deviations": len(self.deviations),
            "days": len(self.days),
            "signatures": len(self.signatures),
            "ledger entries": self.evidence.entry_count,
        }


def gather(period: Period, *, made_at: datetime) -> Gathered:
    """Reads all that the pack shows; ids first, so that every section speaks of the same records."""
    scope = scope_of(period)
    evidence = evidence_of(scope)
    signed_days = days_of(period, made_at)
    return Gathered(
        scope=scope,
        evidence=evidence,
        counts=counts_of(scope, signed_days),
        days=signed_days,
        revisions=revision_sheets(scope),
        curves=acidity_curves(scope),
        rooms=room_climates(scope),
        deviations=tuple(deviation_sheets(scope, evidence)),
        signatures=signature_lines(scope, evidence),
        treatment_count=count_with_trace(scope),
    )


def draw(gathered: Gathered, path: Path, *, made_at: datetime, report: Report) -> Drawn:
    """Draws the pack into the file at path. report(stage, done, total) is called as it goes on; done never falls."""
    period = gathered.scope.period
    facts = DocumentFacts(
        title=f"Food-safety records of {period.premises}, {_span(period)}",
        author=period.premises,
        subject="HACCP plan, monitoring records, deviations and corrective actions of a dairy",
        running_head=f"{period.premises} · {_span(period)}",
    )
    progress = _Progress(report, _total(gathered))
    sheet = Sheet(paper_of(period.jurisdiction), LocalTime(period.zone), progress.tick)
    document = PackDocument(str(path), sheet.paper, facts)
    entries = tuple(_entries(gathered))
    drawn = document.draw(_flowables(gathered, entries, made_at, sheet, progress), [entry.key for entry in entries])
    progress.enter("Attaching the records and their proofs")
    attach_records(path, gathered.evidence.records_json, facts)
    return drawn


class _Progress:
    def __init__(self, report: Report, total: int) -> None:
        self.report, self.total, self.done, self.stage = report, total, 0, ""

    def enter(self, stage: str) -> None:
        self.stage = stage
        self.tick(SECTION_TICKS if self.done else 0)

    def tick(self, count: int) -> None:
        self.done = min(self.done + count, self.total)
        self.report(self.stage, self.done, self.total)


def _span(period: Period) -> str:
    return f"{day_words(period.first_day)} – {day_words(period.last_day)}"


def _total(gathered: Gathered) -> int:
    return (
        len(gathered.scope.record_ids)
        + len(gathered.scope.missed_ids)
        + heat.TICKS * gathered.treatment_count
        + acidity.TICKS * len(gathered.curves)
        + climate.TICKS * len(gathered.rooms)
        + deviations.TICKS * len(gathered.deviations)
        + SECTION_TICKS * 16
    )


def _entries(gathered: Gathered) -> Iterator[Entry]:
    """The contents, in the order of the sections."""
    scope = gathered.scope
    yield Entry(summary.TITLE, summary.KEY)
    yield Entry(plan.TITLE, plan.KEY)
    yield from plan.plan_entries(gathered.revisions)
    for head, points in _record_sections(scope)[:1]:
        yield from _record_entries(head, points)
    yield Entry(heat.TITLE, heat.KEY)
    yield Entry(acidity.TITLE, acidity.KEY)
    yield Entry(climate.TITLE, climate.KEY)
    yield Entry(missed.TITLE, missed.KEY)
    yield Entry(deviations.TITLE, deviations.KEY)
    for one in gathered.deviations:
        yield Entry(deviations.title_of(one), records.deviation_key(one.id), 1)
    for head, points in _record_sections(scope)[1:]:
        yield from _record_entries(head, points)
    yield Entry(days.TITLE, days.KEY)
    yield Entry(signatures.TITLE, signatures.KEY)
    yield Entry(verification.TITLE, verification.KEY)


def _record_sections(scope: PackScope) -> list[tuple[Entry, tuple[PointScope, ...]]]:
    return [
        (CCP_RECORDS, scope.critical),
        (CLEANING, scope.cleaning),
        (PREREQUISITES, scope.other_prerequisites),
    ]


def _record_entries(head: Entry, points: tuple[PointScope, ...]) -> Iterator[Entry]:
    yield head
    for point in points:
        yield Entry(point.title, point_key(point.code), 1)


def _flowables(
    gathered: Gathered, entries: tuple[Entry, ...], made_at: datetime, sheet: Sheet, progress: _Progress
) -> Iterator[Flowable]:
    scope, evidence = gathered.scope, gathered.evidence
    progress.enter("Cover and contents")
    yield from cover.cover_page(cover.Cover(scope.period, evidence, made_at, _in_scope(gathered)), sheet)
    yield PageBreak()
    yield from contents.contents_page(entries)
    yield PageBreak()
    for stage, section in _sections(gathered, sheet):
        progress.enter(stage)
        yield PageBreak() if stage == plan.TITLE else CondPageBreak(sheet.paper.text_height * ROOM_TO_BEGIN)
        yield from section


def _sections(gathered: Gathered, sheet: Sheet) -> Iterator[tuple[str, Iterator[Flowable]]]:
    scope, evidence = gathered.scope, gathered.evidence
    ccps, cleaning, others = _record_sections(scope)
    yield summary.TITLE, summary.summary(gathered.counts, sheet)
    yield plan.TITLE, plan.plan(gathered.revisions, sheet)
    yield from _records(*ccps, gathered, sheet)
    yield heat.TITLE, heat.heat_section(heat_treatments(scope, evidence), sheet)
    yield acidity.TITLE, acidity.acidity_section(gathered.curves, sheet)
    yield climate.TITLE, climate.climate_section(gathered.rooms, scope.period, sheet)
    yield missed.TITLE, missed.missed_section(missed_lines(scope, evidence), gathered.deviation_ids, sheet)
    yield deviations.TITLE, deviations.deviations_section(gathered.deviations, sheet)
    yield from _records(*cleaning, gathered, sheet)
    yield from _records(*others, gathered, sheet)
    yield days.TITLE, days.days_section(gathered.days, sheet)
    yield signatures.TITLE, signatures.signatures_section(gathered.signatures, sheet)
    yield verification.TITLE, verification.verification_section(evidence)


def _records(
    head: Entry, points: tuple[PointScope, ...], gathered: Gathered, sheet: Sheet
) -> Iterator[tuple[str, Iterator[Flowable]]]:
    yield head.title, _record_section(head, points, gathered, sheet)


def _record_section(
    head: Entry, points: tuple[PointScope, ...], gathered: Gathered, sheet: Sheet
) -> Iterator[Flowable]:
    yield from records.section_head(head.title, head.key)
    if not points:
        yield words("The plan names none.")
    for point in points:
        planned = _planned(gathered, point)
        yield from records.point_records(
            records.PointRecords(
                title=point.title,
                key=point_key(point.code),
                limits=tuple(limit.statement for limit in planned.limits) if planned else (),
                corrective_action=planned.corrective_action if planned else "",
                lines=record_lines(gathered.scope, point, gathered.evidence),
                deviation_ids=gathered.deviation_ids,
            ),
            sheet,
        )


def _planned(gathered: Gathered, point: PointScope) -> PointSheet | None:
    """What the latest revision that has this control point says of it."""
    key = point_key(point.code)
    return next((sheet for revision in gathered.revisions for sheet in revision.points if sheet.key == key), None)


def _in_scope(gathered: Gathered) -> tuple[str, ...]:
    counts = gathered.counts
    return (
        "the plan in force",
        f"{counts.records} records of {len(gathered.scope.points)} control points",
        f"{gathered.treatment_count} heat treatments",
        f"{counts.missed} missed checks",
        f"{len(gathered.deviations)} deviations",
        f"{counts.days_signed_off} days signed off",
    )
