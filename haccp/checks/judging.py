"""Lays a record before the limits that watch it. The rulings themselves come from haccp.science."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from haccp.checks import trace_store
from haccp.checks.doubts import doubtful
from haccp.checks.models import Reading, Record, TraceFile
from haccp.checks.reliability import fitness
from haccp.lots.models import Lot
from haccp.lots.queries import first_events
from haccp.plan.models import Check, CriticalLimit, Measure
from haccp.premises.models import Instrument, Premises
from haccp.science import evaluators
from haccp.science.evidence import Evidence
from haccp.science.evidence import Reading as ScienceReading
from haccp.science.ruling import Verdict


@dataclass(frozen=True, slots=True)
class Value:
    """One value of the record to be: SI value for numbers, choice for answers."""

    value_si: float | None = None
    choice: str | None = None


@dataclass(frozen=True, slots=True)
class Case:
    """What a set of limits is to judge.

    instrument: what its uncertainty and unfitness come from: they touch only what such an instrument reads.
    as_of: only what was recorded by then is looked at, so that judging again years later sees the same; None for a
    record that is being made.
    """

    premises: Premises
    check: Check
    lot: Lot | None
    observed_at: datetime
    values: Mapping[UUID, Value]  # measure id -> value; measures left empty are absent
    expanded_uncertainty: float = 0.0
    unfit: str | None = None
    instrument: Instrument | None = None
    as_of: datetime | None = None
    trace: TraceFile | None = None
    trace_roles: Mapping[str, str] = field(default_factory=dict)
    amends: Record | None = None


def judge_case(case: Case) -> list[tuple[CriticalLimit, Verdict]]:
    """Every limit that watches a measure of the check, for the lot's product, with what it says."""
    measures_of_limit: dict[UUID, list[Measure]] = defaultdict(list)
    limits: dict[UUID, CriticalLimit] = {}
    asked = list(case.check.measures.prefetch_related("limits__products"))
    rest_on_it = {measure.pk for measure in read_with(case.instrument, asked)}
    for measure in asked:
        for limit in measure.limits.all():
            if applies(limit, case.lot):
                limits[limit.id] = limit
                measures_of_limit[limit.id].append(measure)
    events = first_events(case.lot, as_of=case.as_of) if case.lot else {}
    return [
        (
            limit,
            evaluators.judge(limit.as_limit(), _evidence(case, limit, measures_of_limit[limit.id], rest_on_it, events)),
        )
        for limit in limits.values()
        if _has_something(case, measures_of_limit[limit.id])
    ]


def judge_again(record: Record) -> list[tuple[CriticalLimit, Verdict]]:
    """What the limits in force then say of a saved record today, by what was known when it was saved.

    The same as its rulings, as long as the evaluators' versions are the same; otherwise something is wrong.
    """
    values = {
        reading.measure_id: Value(value_si=reading.value_si, choice=reading.choice or None)
        for reading in record.readings.all()
    }
    if record.trace is not None:
        values |= recorder_values(record.check_done)
    return judge_case(
        Case(
            premises=record.premises,
            check=record.check_done,
            lot=record.lot,
            observed_at=record.observed_at,
            values=values,
            expanded_uncertainty=record.expanded_uncertainty,
            unfit=record.instrument_unfit or None,
            instrument=record.instrument,
            as_of=record.recorded_at,
            trace=record.trace,
            trace_roles=record.trace_roles,
            amends=record.amends,
        )
    )


def judge_corrected(record: Record, error: float) -> list[tuple[CriticalLimit, Verdict]]:
    """What the limits would say of a record's numbers less an error (SI) that its instrument was found to have.

    A help for whoever disposes of the product; it rules nothing. Empty for a record without a typed number.
    """
    in_doubt = {measure.pk for measure in read_with(record.instrument, record.check_done.measures.all())}
    numbers = {
        reading.measure_id
        for reading in record.readings.all()
        if reading.value_si is not None and reading.measure_id in in_doubt
    }
    if not numbers:
        return []
    values = {
        reading.measure_id: Value(
            value_si=reading.value_si - error
            if reading.value_si is not None and reading.measure_id in numbers
            else reading.value_si,
            choice=reading.choice or None,
        )
        for reading in record.readings.all()
    }
    verdicts = judge_case(
        Case(
            premises=record.premises,
            check=record.check_done,
            lot=record.lot,
            observed_at=record.observed_at,
            values=values,
            expanded_uncertainty=record.expanded_uncertainty,
            instrument=record.instrument,
            as_of=record.recorded_at,
            amends=record.amends,
        )
    )
    watching = {
        limit.pk
        for measure in record.check_done.measures.all()
        if measure.pk in numbers
        for limit in measure.limits.all()
    }
    return [(limit, verdict) for limit, verdict in verdicts if limit.pk in watching]


def recorder_values(check: Check) -> dict[UUID, Value]:
    """A recorder's file stands for its measures: they have no typed value, and are there all the same."""
    return {measure.id: Value() for measure in check.measures.all() if measure.kind == Measure.Kind.RECORDER_FILE}


def read_with(instrument: Instrument | None, measures: Iterable[Measure]) -> list[Measure]:
    """Of the measures of a check, those that rest on the instrument named in its record.

    A thermometer says nothing of the chlorine beside it. Where it reads none of what the check asks for, it was the
    wrong one to choose, and everything rests on it.
    """
    read = [measure for measure in measures if measure.kind != Measure.Kind.TEXT]
    if instrument is None:
        return read
    return [measure for measure in read if measure.quantity and instrument.reads(measure.quantity)] or read


def judge_trace(
    *,
    premises: Premises,
    check: Check,
    lot: Lot | None,
    instrument: Instrument | None,
    trace: TraceFile,
    roles: Mapping[str, str],
    observed_at: datetime,
) -> list[tuple[CriticalLimit, Verdict]]:
    """What the limits on the recorder's file would say if it were saved like this. Writes nothing."""
    uncertainty, unfit = fitness(instrument, premises, observed_at)
    case = Case(
        premises=premises,
        check=check,
        lot=lot,
        observed_at=observed_at,
        values=recorder_values(check),
        expanded_uncertainty=uncertainty,
        unfit=unfit,
        instrument=instrument,
        trace=trace,
        trace_roles=roles,
    )
    files = [measure for measure in check.measures.all() if measure.kind == Measure.Kind.RECORDER_FILE]
    watching = {limit.id for measure in files for limit in measure.limits.all()}
    return [(limit, verdict) for limit, verdict in judge_case(case) if limit.id in watching]


def limits_of(check: Check, lot: Lot | None) -> list[CriticalLimit]:
    """The limits that watch a check of this lot. No query when measures__limits__products is prefetched."""
    found = {limit.id: limit for measure in check.measures.all() for limit in measure.limits.all()}
    return [limit for limit in found.values() if applies(limit, lot)]


def applies(limit: CriticalLimit, lot: Lot | None) -> bool:
    products = {product.id for product in limit.products.all()}
    return not products or lot is None or lot.product_id is None or lot.product_id in products


def _has_something(case: Case, measures: Sequence[Measure]) -> bool:
    """An optional measure left empty is not judged; a required one is, and is then unproven."""
    return any(measure.required or measure.id in case.values for measure in measures)


def _evidence(
    case: Case,
    limit: CriticalLimit,
    measures: Sequence[Measure],
    rest_on_it: Set[UUID],
    events: dict[str, datetime],
) -> Evidence:
    now = [
        ScienceReading(
            observed_at=case.observed_at,
            value=case.values[measure.id].value_si,
            choice=case.values[measure.id].choice,
            label=measure.label,
            expanded_uncertainty=case.expanded_uncertainty if _is_number_of(measure, rest_on_it) else 0.0,
            unfit=case.unfit if _is_number_of(measure, rest_on_it) else None,
        )
        for measure in measures
        if measure.id in case.values
    ]
    readings = sorted([*_earlier(case, limit), *now], key=lambda reading: reading.observed_at)
    return Evidence(
        readings=tuple(readings),
        events=events,
        trace=trace_store.load(case.trace) if case.trace else None,
        roles=dict(case.trace_roles),
        trace_expanded_uncertainty_c=case.expanded_uncertainty if case.trace else 0.0,
        trace_unfit=case.unfit if case.trace else None,
    )


def _is_number_of(measure: Measure, rest_on_it: Set[UUID]) -> bool:
    return measure.kind == Measure.Kind.NUMBER and measure.pk in rest_on_it


def _earlier(case: Case, limit: CriticalLimit) -> list[ScienceReading]:
    """Earlier readings of the same lot under the same limit: a limit by elapsed time looks at the whole curve."""
    if case.lot is None or not evaluators.EVALUATORS[limit.evaluator].looks_back:
        return []
    known = Record.objects.as_of(case.as_of) if case.as_of else Record.objects.current()
    found = (
        Reading.objects.filter(
            record__in=known,
            record__lot=case.lot,
            record__observed_at__lte=case.observed_at,
            measure__limits=limit,
            value_si__isnull=False,
        )
        .select_related("record__instrument", "measure")
        .prefetch_related("record__check_done__measures")
        .order_by("record__observed_at")
    )
    if case.amends is not None:
        found = found.exclude(record=case.amends)
    readings = list(found)
    doubts = doubtful({reading.record_id for reading in readings}, case.as_of)
    return [_past_reading(reading, doubts.get(reading.record_id)) for reading in readings]


def _past_reading(reading: Reading, doubt: str | None) -> ScienceReading:
    """doubt: why its instrument counts no more, found out after it was saved."""
    record = reading.record
    rests_on_it = reading.measure in read_with(record.instrument, record.check_done.measures.all())
    return ScienceReading(
        observed_at=record.observed_at,
        value=reading.value_si,
        label=reading.measure.label,
        expanded_uncertainty=record.expanded_uncertainty if rests_on_it else 0.0,
        unfit=(record.instrument_unfit or doubt) if rests_on_it else None,
    )
