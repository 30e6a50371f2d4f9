"""Lays a record before the limits that watch it. The rulings themselves come from haccp.science."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from haccp.checks import trace_store
from haccp.checks.models import Reading, Record, TraceFile
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
    """What a set of limits is to judge."""

    premises: Premises
    check: Check
    lot: Lot | None
    instrument: Instrument | None
    observed_at: datetime
    values: Mapping[UUID, Value]  # measure id -> value; measures left empty are absent
    trace: TraceFile | None = None
    trace_roles: Mapping[str, str] = field(default_factory=dict)
    amends: Record | None = None


def judge_case(case: Case) -> list[tuple[CriticalLimit, Verdict]]:
    """Every limit that watches a measure of the check, for the lot's product, with what it says."""
    measures_of_limit: dict[UUID, list[Measure]] = defaultdict(list)
    limits: dict[UUID, CriticalLimit] = {}
    for measure in case.check.measures.prefetch_related("limits__products"):
        for limit in measure.limits.all():
            if applies(limit, case.lot):
                limits[limit.id] = limit
                measures_of_limit[limit.id].append(measure)
    events = first_events(case.lot) if case.lot else {}
    return [
        (limit, evaluators.judge(limit.as_limit(), _evidence(case, limit, measures_of_limit[limit.id], events)))
        for limit in limits.values()
        if _has_something(case, measures_of_limit[limit.id])
    ]


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
    files = [measure for measure in check.measures.all() if measure.kind == Measure.Kind.RECORDER_FILE]
    case = Case(
        premises=premises,
        check=check,
        lot=lot,
        instrument=instrument,
        observed_at=observed_at,
        values={measure.id: Value() for measure in files},
        trace=trace,
        trace_roles=roles,
    )
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


def _evidence(case: Case, limit: CriticalLimit, measures: Sequence[Measure], events: dict[str, datetime]) -> Evidence:
    day = case.premises.local_date(case.observed_at)
    unfit = case.instrument.unfit_on(day) if case.instrument else None
    uncertainty = case.instrument.expanded_uncertainty if case.instrument else 0.0
    now = [
        ScienceReading(
            observed_at=case.observed_at,
            value=case.values[measure.id].value_si,
            choice=case.values[measure.id].choice,
            label=measure.label,
            expanded_uncertainty=uncertainty if measure.kind == Measure.Kind.NUMBER else 0.0,
            unfit=unfit if measure.kind == Measure.Kind.NUMBER else None,
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
        trace_expanded_uncertainty_c=uncertainty if case.trace else 0.0,
        trace_unfit=unfit if case.trace else None,
    )


def _earlier(case: Case, limit: CriticalLimit) -> list[ScienceReading]:
    """Earlier readings of the same lot under the same limit: a limit by elapsed time looks at the whole curve."""
    if case.lot is None or not evaluators.EVALUATORS[limit.evaluator].looks_back:
        return []
    found = (
        Reading.objects.filter(
            record__in=Record.objects.current(),
            record__lot=case.lot,
            record__observed_at__lte=case.observed_at,
            measure__limits=limit,
            value_si__isnull=False,
        )
        .select_related("record__instrument", "measure")
        .order_by("record__observed_at")
    )
    if case.amends is not None:
        found = found.exclude(record=case.amends)
    return [_past_reading(case.premises, reading) for reading in found]


def _past_reading(premises: Premises, reading: Reading) -> ScienceReading:
    record = reading.record
    instrument = record.instrument
    return ScienceReading(
        observed_at=record.observed_at,
        value=reading.value_si,
        label=reading.measure.label,
        expanded_uncertainty=instrument.expanded_uncertainty if instrument else 0.0,
        unfit=instrument.unfit_on(premises.local_date(record.observed_at)) if instrument else None,
    )
