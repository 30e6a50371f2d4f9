"""The sections that documents of records are put together from, each with its lines of the contents."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import chain

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.marks import words
from haccp.reports.gather.batches import batch_sheets, gate_on, milk_lines
from haccp.reports.gather.calibrations import calibration_lines
from haccp.reports.gather.counts import point_key
from haccp.reports.gather.gathered import JOURNAL_SOURCES, Gathered
from haccp.reports.gather.heat_treatments import heat_treatments
from haccp.reports.gather.journal import journal_lines
from haccp.reports.gather.laboratory import sample_lines
from haccp.reports.gather.missed import missed_lines
from haccp.reports.gather.plan_sheets import PointSheet
from haccp.reports.gather.record_lines import record_lines
from haccp.reports.gather.scope import PointScope
from haccp.reports.gather.verifying import calibrations_in, samples_in
from haccp.reports.languages import own
from haccp.reports.layout import (
    acidity,
    batches,
    calibrations,
    climate,
    days,
    deviations,
    heat,
    index,
    instruments,
    laboratory,
    missed,
    people,
    plan,
    records,
    signatures,
    summary,
    training,
    verification,
)
from haccp.reports.layout.contents import Entry
from haccp.reports.layout.journal import JOURNALS, journal_section
from haccp.reports.layout.sheet import Sheet

CCP_RECORDS = Entry(own("Records of critical control points"), "ccp-records")
CLEANING = Entry(own("Cleaning logs"), "cleaning")
PREREQUISITES = Entry(own("Records of other prerequisite programmes"), "prerequisites")
# A batch's gate costs some dozens of queries; a season's batches are not asked one by one.
MOST_GATES = 5


@dataclass(frozen=True, slots=True)
class Section:
    """entries: its lines of the contents, its own first. is_empty: a document of a part leaves it out."""

    entries: tuple[Entry, ...]
    flowables: Iterator[Flowable]
    is_empty: bool = False

    @property
    def title(self) -> str:
        return self.entries[0].title


def _summary(gathered: Gathered, sheet: Sheet) -> Section:
    return Section((Entry(summary.TITLE, summary.KEY),), summary.summary(gathered.counts, sheet))


def _plan(gathered: Gathered, sheet: Sheet) -> Section:
    """In full for the whole dairy; else the control points that the document's records belong to."""
    choice = gathered.scope.choice
    entries = (Entry(plan.TITLE, plan.KEY), *plan.plan_entries(gathered.revisions))
    if choice.is_whole:
        return Section(entries, plan.plan(gathered.revisions, sheet))
    keys = frozenset(point_key(point.code) for point in gathered.scope.points)
    return Section(entries, plan.plan(gathered.revisions, sheet, keys), is_empty=not keys)


def _ccps(gathered: Gathered, sheet: Sheet) -> Section:
    return _records(CCP_RECORDS, gathered.scope.critical, gathered, sheet)


def _cleaning(gathered: Gathered, sheet: Sheet) -> Section:
    return _records(CLEANING, gathered.scope.cleaning, gathered, sheet)


def _others(gathered: Gathered, sheet: Sheet) -> Section:
    return _records(PREREQUISITES, gathered.scope.other_prerequisites, gathered, sheet)


def _heat(gathered: Gathered, sheet: Sheet) -> Section:
    treatments = heat_treatments(gathered.scope, gathered.evidence)
    entry = Entry(heat.TITLE, heat.KEY)
    return Section((entry,), heat.heat_section(treatments, sheet), is_empty=not gathered.heat_titles)


def _acidity(gathered: Gathered, sheet: Sheet) -> Section:
    entry = Entry(acidity.TITLE, acidity.KEY)
    return Section((entry,), acidity.acidity_section(gathered.curves, sheet), is_empty=not gathered.curves)


def _climate(gathered: Gathered, sheet: Sheet) -> Section:
    entry = Entry(climate.TITLE, climate.KEY)
    shown = climate.climate_section(gathered.rooms, gathered.scope.period, sheet)
    return Section((entry,), shown, is_empty=not gathered.rooms)


def _batches(gathered: Gathered, sheet: Sheet) -> Section:
    scope = gathered.scope
    sheets = batch_sheets(scope, gathered.evidence)
    if scope.choice.batches and len(scope.batch_ids) <= MOST_GATES:
        sheets = (replace(one, gate=gate_on(one.id, scope.period)) for one in sheets)
    shown = batches.batches_section(sheets, _charts(gathered, sheet), sheet)
    return Section((Entry(batches.TITLE, batches.KEY),), shown, is_empty=not scope.batch_ids)


def _charts(gathered: Gathered, sheet: Sheet) -> dict[str, list[tuple[str, str]]]:
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for record_id, code, at in gathered.heat_titles:
        found[code].append((f"Heat treatment, {sheet.time.moment(at)}", heat.heat_key(record_id)))
    for curve in gathered.curves:
        found[curve.lot].append((f"{curve.quantity} since {curve.since}, drawn", acidity.curve_key(curve)))
    return found


def _milk(gathered: Gathered, sheet: Sheet) -> Section:
    lines = milk_lines(gathered.scope, gathered.evidence)
    entry = Entry(batches.MILK_TITLE, batches.MILK_KEY)
    return Section((entry,), batches.milk_section(lines, sheet), is_empty=not gathered.scope.milk_ids)


def _journal(key: str) -> "Builder":
    """A section of entries that are told in one way."""
    journal = JOURNALS[key]

    def build(gathered: Gathered, sheet: Sheet) -> Section:
        scope = gathered.scope
        lines = journal_lines(JOURNAL_SOURCES[key], scope, gathered.evidence) if gathered.journals[key] else []
        shown = journal_section(journal, lines, frozenset(scope.batch_ids), sheet)
        return Section((Entry(journal.title, journal.key),), shown, is_empty=not lines)

    return build


def _training(gathered: Gathered, sheet: Sheet) -> Section:
    points = gathered.scope.training
    entries = (Entry(training.TITLE, training.KEY), *(Entry(p.title, point_key(p.code), 1) for p in points))
    flowables = chain(
        training.training_head(gathered.revisions, bool(points), sheet), _tables_of_points(points, gathered, sheet)
    )
    return Section(entries, flowables, is_empty=not points)


def _missed(gathered: Gathered, sheet: Sheet) -> Section:
    lines = missed_lines(gathered.scope, gathered.evidence)
    entry = Entry(missed.TITLE, missed.KEY)
    shown = missed.missed_section(lines, gathered.deviation_ids, sheet)
    return Section((entry,), shown, is_empty=not gathered.scope.missed_ids)


def _deviations(gathered: Gathered, sheet: Sheet) -> Section:
    lines = (Entry(deviations.title_of(one), records.deviation_key(one.id), 1) for one in gathered.deviations)
    shown = deviations.deviations_section(gathered.deviations, sheet)
    return Section((Entry(deviations.TITLE, deviations.KEY), *lines), shown, is_empty=not gathered.deviations)


def _instruments(gathered: Gathered, sheet: Sheet) -> Section:
    shown = instruments.instruments_section(gathered.instruments, sheet)
    return Section((Entry(instruments.TITLE, instruments.KEY),), shown, is_empty=not gathered.instruments)


def _laboratory(gathered: Gathered, sheet: Sheet) -> Section:
    lines = sample_lines(gathered.scope, gathered.evidence)
    shown = laboratory.laboratory_section(lines, gathered.deviation_ids, sheet)
    none = not samples_in(gathered.scope).exists()
    return Section((Entry(laboratory.TITLE, laboratory.KEY),), shown, is_empty=none)


def _calibrations(gathered: Gathered, sheet: Sheet) -> Section:
    lines = calibration_lines(gathered.scope, gathered.evidence)
    shown = calibrations.calibrations_section(lines, sheet)
    none = not calibrations_in(gathered.scope).exists()
    return Section((Entry(calibrations.TITLE, calibrations.KEY),), shown, is_empty=none)


def _people(gathered: Gathered, sheet: Sheet) -> Section:
    shown = people.people_section(gathered.people, sheet)
    return Section((Entry(people.TITLE, people.KEY),), shown, is_empty=not gathered.people)


def _days(gathered: Gathered, sheet: Sheet) -> Section:
    return Section((Entry(days.TITLE, days.KEY),), days.days_section(gathered.days, sheet), not gathered.days)


def _index(gathered: Gathered, sheet: Sheet) -> Section:
    none = not (gathered.batch_names or gathered.amended)
    return Section((Entry(index.TITLE, index.KEY),), index.index_section(gathered, sheet), is_empty=none)


def _signatures(gathered: Gathered, sheet: Sheet) -> Section:
    shown = signatures.signatures_section(gathered.signatures, sheet)
    return Section((Entry(signatures.TITLE, signatures.KEY),), shown, is_empty=not gathered.signatures)


def _verification(gathered: Gathered, sheet: Sheet) -> Section:
    return Section((Entry(verification.TITLE, verification.KEY),), verification.verification_section(gathered.evidence))


Builder = Callable[[Gathered, Sheet], Section]
BUILDERS: dict[str, Builder] = {
    "summary": _summary,
    "plan": _plan,
    "ccps": _ccps,
    "heat": _heat,
    "acidity": _acidity,
    "climate": _climate,
    "batches": _batches,
    "milk": _milk,
    "training": _training,
    **{key: _journal(key) for key in JOURNALS},
    "missed": _missed,
    "deviations": _deviations,
    "cleaning": _cleaning,
    "others": _others,
    "instruments": _instruments,
    "calibrations": _calibrations,
    "laboratory": _laboratory,
    "people": _people,
    "days": _days,
    "signatures": _signatures,
    "verification": _verification,
    "index": _index,
}


def sections(names: tuple[str, ...], gathered: Gathered, sheet: Sheet) -> list[Section]:
    """In the order of the names; those that would say that there is nothing only where the whole dairy is shown."""
    made = (BUILDERS[name](gathered, sheet) for name in names)
    return [one for one in made if gathered.scope.choice.is_whole or not one.is_empty]


def _records(head: Entry, points: tuple[PointScope, ...], gathered: Gathered, sheet: Sheet) -> Section:
    lines = (Entry(point.title, point_key(point.code), 1) for point in points)
    return Section((head, *lines), _of_points(head, points, gathered, sheet), is_empty=not points)


def _of_points(head: Entry, points: tuple[PointScope, ...], gathered: Gathered, sheet: Sheet) -> Iterator[Flowable]:
    yield from records.section_head(head.title, head.key)
    if not points:
        yield words(own("The plan names none."))
    yield from _tables_of_points(points, gathered, sheet)


def _tables_of_points(points: tuple[PointScope, ...], gathered: Gathered, sheet: Sheet) -> Iterator[Flowable]:
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
