"""What was read of the temperature in rooms, and of batches while they were made, as the ageing clock takes it.

A typed reading and the next one prove what lies between them when they are no further apart than the plan asks for:
the approved plan says how often a room is looked at, and that this is often enough. A recorder's samples prove more
closely, and are believed no longer than LOGGER_GAP_S.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from batches.ripening.models import RoomLog, RoomReading
from haccp.calibration.models import Doubt, DoubtedReading
from haccp.calibration.queries import doubted, standing_doubts
from haccp.checks import trace_store
from haccp.checks.models import Reading, Record
from haccp.lots.models import Lot
from haccp.plan.models import Measure
from haccp.premises.models import Place, Premises
from haccp.science.ageing import RoomRecord, record_of_readings
from haccp.science.errors import InputError
from haccp.science.evidence import Reading as ScienceReading
from haccp.science.schedule.interval import longest_interval_days
from haccp.science.trace import Trace

DAY_S = 86_400.0
# Common practice, no source: a logger that takes a sample every few minutes and is silent for an hour has stopped.
LOGGER_GAP_S = 3600.0
# Readings that no cadence asks for. Common practice, no source.
BY_HAND_GAP_S = 12 * 3600.0
TEMPERATURE = "temperature"


@dataclass(frozen=True, slots=True)
class _Row:
    """One typed reading. series: the measure that it answers, the same from revision to revision."""

    owner: UUID
    series: str
    gap_s: float
    reading: ScienceReading


def room_records(premises: Premises, places: Iterable[Place], since: datetime) -> dict[str, list[RoomRecord]]:
    """Name of the place -> what its thermometers recorded since then. In a constant number of queries."""
    name_of = {place.pk: place.name for place in places}
    found: dict[str, list[RoomRecord]] = defaultdict(list)
    current = Record.objects.for_premises(premises).current().filter(place__in=name_of, observed_at__gte=since)
    for place_id, record in _typed(current.filter(lot__isnull=True), "place"):
        found[name_of[place_id]].append(record)
    recorded = list(current.filter(trace__isnull=False, lot__isnull=True).select_related("trace"))
    doubts = standing_doubts(one.pk for one in recorded) if recorded else {}
    for one in recorded:
        assert one.trace is not None
        assert one.place_id is not None
        found[name_of[one.place_id]] += _recorded(one, trace_store.load(one.trace), _doubted(doubts.get(one.pk)))
    read = list(RoomReading.objects.filter(place__in=name_of, read_at__gte=since, temperature_c__isnull=False))
    logged = RoomLog.objects.filter(place__in=name_of, ends_at__gte=since, quantity=TEMPERATURE)
    logs = list(logged.defer("overview").select_related("trace"))
    beside = doubted(one.pk for one in [*read, *logs])
    for place_id, room_record in _by_hand(read, beside):
        found[name_of[place_id]].append(room_record)
    for log in logs:
        found[name_of[log.place_id]].append(_logged(log, beside))
    return found


def _logged(log: RoomLog, doubts: Mapping[UUID, DoubtedReading]) -> RoomRecord:
    unfit = log.instrument_unfit or _doubted(doubts.get(log.pk))
    trace = trace_store.load(log.trace)
    return RoomRecord(trace, log.channel, log.expanded_uncertainty, unfit, max_gap_s=LOGGER_GAP_S)


def _by_hand(read: Iterable[RoomReading], doubts: Mapping[UUID, DoubtedReading]) -> Iterable[tuple[UUID, RoomRecord]]:
    """What people read of the air besides the checks of the plan."""
    groups: dict[tuple[UUID, bool], list[_Row]] = defaultdict(list)
    for one in read:
        unfit = one.instrument_unfit or _doubted(doubts.get(one.pk))
        reading = ScienceReading(
            observed_at=one.read_at,
            value=one.temperature_c,
            expanded_uncertainty=one.expanded_uncertainty,
            unfit=unfit,
        )
        groups[one.place_id, bool(unfit)].append(_Row(one.place_id, "", BY_HAND_GAP_S, reading))
    for (place_id, _unfit), rows in groups.items():
        record = _record(rows)
        if record is not None:
            yield place_id, record


def _recorded(record: Record, trace: Trace, doubted: str | None) -> list[RoomRecord]:
    unfit = record.instrument_unfit or doubted
    return [
        RoomRecord(trace, channel, record.expanded_uncertainty, unfit, max_gap_s=LOGGER_GAP_S)
        for channel, role in record.trace_roles.items()
        if role != "other" and channel in trace.channels
    ]


def batch_records(premises: Premises, lots: Iterable[Lot]) -> dict[UUID, list[RoomRecord]]:
    """Lot -> the temperatures read of the batch itself: of the curd, of the cheese. One query."""
    found: dict[UUID, list[RoomRecord]] = defaultdict(list)
    current = Record.objects.for_premises(premises).current().filter(lot__in=[lot.pk for lot in lots])
    for lot_id, record in _typed(current, "lot"):
        found[lot_id].append(record)
    return found


def _typed(records: QuerySet[Record], owner: str) -> Iterable[tuple[UUID, RoomRecord]]:
    groups: dict[tuple[UUID, str, bool], list[_Row]] = defaultdict(list)
    for row in _rows(records, owner):
        # What an unfit thermometer showed is kept apart: it proves nothing, yet may show a room too cold
        groups[row.owner, row.series, row.reading.unfit is not None].append(row)
    for (owner_id, _series, _unfit), rows in groups.items():
        record = _record(rows)
        if record is not None:
            yield owner_id, record


def _rows(records: QuerySet[Record], owner: str) -> Iterable[_Row]:
    readings = (
        Reading.objects.filter(
            record__in=records, measure__quantity=TEMPERATURE, measure__kind=Measure.Kind.NUMBER, value_si__isnull=False
        )
        .select_related("record", "measure", "measure__check_made")
        .order_by("record__observed_at")
    )
    found = list(readings)
    doubts = standing_doubts({reading.record_id for reading in found})
    for reading in found:
        record, check = reading.record, reading.measure.check_made
        yield _Row(
            getattr(record, f"{owner}_id"),
            reading.measure.key,
            _longest_gap_s(check.cadence, check.window_before_s + check.grace_s),
            ScienceReading(
                observed_at=record.observed_at,
                value=reading.value_si,
                expanded_uncertainty=record.expanded_uncertainty,
                unfit=record.instrument_unfit or _doubted(doubts.get(record.pk)),
            ),
        )


def _doubted(doubt: Doubt | DoubtedReading | None) -> str | None:
    return f"{doubt.calibration.instrument.name} was found out later" if doubt is not None else None


def _longest_gap_s(cadence: Mapping[str, object], leeway_s: float) -> float:
    """As far apart as two checks done in time can be."""
    try:
        days = longest_interval_days(dict(cadence))
    except InputError:
        days = None
    return days * DAY_S + leeway_s if days else BY_HAND_GAP_S


def _record(rows: list[_Row]) -> RoomRecord | None:
    unfit = rows[0].reading.unfit
    readings = [
        ScienceReading(
            observed_at=row.reading.observed_at,
            value=row.reading.value,
            expanded_uncertainty=row.reading.expanded_uncertainty,
        )
        for row in rows
    ]
    made = record_of_readings(readings)
    gap_s = max(row.gap_s for row in rows)
    return RoomRecord(made.trace, made.channel, made.expanded_uncertainty_c, unfit, max_gap_s=gap_s)
