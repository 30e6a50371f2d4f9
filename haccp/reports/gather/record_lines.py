"""Records as their tables show them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from haccp.checks.models import Reading, Record, RulingRow
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.gather.scope import PackScope, PointScope, in_groups
from haccp.science.units import quantity_of, unit_of

# A reading written down at the bench is entered within this time; later than that, the table says when.
LATE_AFTER = timedelta(minutes=30)
AS_TYPED = ReaderUnits()


@dataclass(frozen=True, slots=True)
class Judged:
    """Readings that one limit judged; limit and ruling are empty for readings without a limit."""

    readings: tuple[str, ...]
    limit: str
    ruling: str
    reason: str
    deviation: str
    deviation_id: UUID | None


@dataclass(frozen=True, slots=True)
class RecordLine:
    """ref: its entry in the ledger. amends: ref of what it amends, or empty; amended_by likewise."""

    id: UUID
    ref: str
    observed_at: datetime
    recorded_at: datetime
    is_late: bool
    about: str
    check: str
    judged: tuple[Judged, ...]
    instrument: str
    by: str
    note: str
    amends: str
    amend_reason: str
    amended_by: str


def record_lines(scope: PackScope, point: PointScope, evidence: Evidence) -> Iterator[RecordLine]:
    """In the order of the table, five hundred at a time; a constant number of queries for each."""
    change_of = {before: after for chain in point.chains for before, after in pairwise(chain)}
    for group in in_groups(point.record_ids):
        found = {record.id: record for record in _records(group)}
        limits_of = _limits_of_measures(found.values())
        for record_id in group:
            change = change_of.get(record_id)
            by = evidence.ref(f"record:{change}") if change else ""
            yield _line(found.pop(record_id), limits_of, scope.period.units, evidence, by)


def _limits_of_measures(records: Iterable[Record]) -> dict[UUID, frozenset[UUID]]:
    """measure -> limits on it."""
    measures = {reading.measure_id: reading.measure for record in records for reading in record.readings.all()}
    return {one: frozenset(limit.id for limit in measure.limits.all()) for one, measure in measures.items()}


def _records(ids: Sequence[UUID]) -> QuerySet[Record]:
    return (
        Record.objects.filter(id__in=ids)
        .select_related("trace")
        .defer("trace_roles", "trace__raw_deflated", "trace__samples")
        .prefetch_related(
            # Not joined: five hundred records share a few of each, read and made once.
            *("check_done", "lot", "place", "instrument", "recorded_by"),
            Prefetch("readings", queryset=Reading.objects.select_related("photo").defer("photo__kept")),
            "readings__measure__limits",
            Prefetch("rulings", queryset=RulingRow.objects.select_related("deviation").defer("facts")),
            "rulings__limit",
        )
    )


def _line(
    record: Record,
    limits_of: Mapping[UUID, frozenset[UUID]],
    units: ReaderUnits,
    evidence: Evidence,
    amended_by: str,
) -> RecordLine:
    about = record.lot.code if record.lot else record.place.name if record.place else "the dairy"
    return RecordLine(
        id=record.id,
        ref=evidence.ref(f"record:{record.id}"),
        observed_at=record.observed_at,
        recorded_at=record.recorded_at,
        is_late=record.recorded_at - record.observed_at > LATE_AFTER,
        about=about,
        check=record.check_done.name,
        judged=tuple(_judged(record, limits_of, units)),
        instrument=record.instrument.name if record.instrument else "",
        by=record.recorded_by.name,
        note=record.note,
        amends=evidence.ref(f"record:{record.amends_id}") if record.amends_id else "",
        amend_reason=record.amend_reason,
        amended_by=amended_by,
    )


def _judged(record: Record, limits_of: Mapping[UUID, frozenset[UUID]], units: ReaderUnits) -> Iterator[Judged]:
    """Each ruling beside the readings that it judged, then the readings that no limit judges."""
    readings = list(record.readings.all())
    rulings = list(record.rulings.all())
    shown: set[UUID] = set()
    for row in rulings:
        mine = [one for one in readings if row.limit_id in limits_of[one.measure_id]]
        shown |= {reading.id for reading in mine}
        words = tuple(reading_words(reading, units) for reading in mine)
        if not words and record.trace is not None:
            words = (f"recorder file {record.trace.filename}",)
        deviation = getattr(row, "deviation", None)
        yield Judged(
            words,
            row.limit.statement + units.beside_limit(row.limit),
            row.ruling,
            row.reason,
            deviation.reference if deviation else "",
            deviation.id if deviation else None,
        )
    rest = tuple(reading_words(reading, units) for reading in readings if reading.id not in shown)
    if record.trace is not None and not rulings:
        rest = (*rest, f"recorder file {record.trace.filename}")
    if rest:
        yield Judged(rest, "", "", "", "", None)


def reading_words(reading: Reading, units: ReaderUnits = AS_TYPED) -> str:
    """As it was typed, under its name, and beside it in the reader's unit: "Top shelf 11.0 °C (51.8 °F)"."""
    value = value_words(reading) if reading.typed_text else reading.choice
    if reading.photo is not None:
        value = f"{value} photograph, SHA-256 {reading.photo.kept_sha256[:16]}".strip()
    if reading.typed_unit and reading.measure.quantity:
        value += units.beside(reading.measure.quantity, reading.value_si, reading.typed_unit)
    label = reading.measure.label
    return value if value.startswith(f"{label} ") else f"{label}: {value}"


def value_words(reading: Reading) -> str:
    unit = reading.typed_unit
    if not unit or not reading.measure.quantity:
        return reading.typed_text
    symbol = unit_of(quantity_of(reading.measure.quantity), unit).symbol
    return f"pH {reading.typed_text}" if symbol == "pH" else f"{reading.typed_text} {symbol}"
