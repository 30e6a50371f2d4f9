"""One heat treatment in full: what the law of the jurisdiction says of it, and beside it, never instead of it, what the
lethality integral is worth."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from batches.intake.models import MilkLot
from batches.making.models import FlowDiversion, HeatSheet, Make, PhosphataseResult
from haccp.calibration.queries import doubted, standing_doubts
from haccp.checks import trace_store
from haccp.checks.models import Reading, Record
from haccp.plan.models import MilkSpecies
from haccp.premises.models import Premises
from haccp.science import evaluators
from haccp.science.errors import InputError
from haccp.science.evidence import Evidence
from haccp.science.heat.intervals import Interval, subtract
from haccp.science.heat.legal import LegalPair, Process, required
from haccp.science.heat.pasteuriser import FlowRule, Run, RunJudgement, ThermometerCheck, ValveTest, judge_run
from haccp.science.heat.phosphatase import judge_phosphatase
from haccp.science.heat.treatment import HeatCourse, Lethality, course_of, lethality_of
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import Ruling, Verdict
from haccp.science.trace import Trace

BEST_FIRST = (Ruling.MET, Ruling.CLOSE, Ruling.UNPROVEN, Ruling.BREACHED)
# Grade “A” PMO, item 16p(B), from memory; read in 3 CCR 584(b): 5 °F above the minimum through heating and holding
AIR_SPACE_ABOVE_C = {"US": 3.0}
SPECIES = {MilkSpecies.EWE: "sheep"}


@dataclass(frozen=True, slots=True)
class Legal:
    """One published pair and what it says of this treatment. run: of a continuous one."""

    pair: LegalPair
    verdict: Verdict
    run: RunJudgement | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """The indicating thermometer beside the recorder at one moment, °C. recorded_c: None where it has no sample."""

    at: datetime
    indicating_c: float | None
    recorded_c: float | None
    air_space_c: float | None

    @property
    def recorder_reads_high(self) -> bool:
        """The recorder may show no more than the indicating thermometer (PMO 16p and appendix H, from memory)."""
        return (
            self.indicating_c is not None and self.recorded_c is not None and self.recorded_c > self.indicating_c + 1e-9
        )


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """legal: best first, empty with the reason in no_law. best: the pair that says most for it. thermometers_unfit:
    why what was read beside the recorder does not count, as it stood then or was found out later."""

    record: Record
    sheet: HeatSheet | None
    course: HeatCourse | None
    legal: tuple[Legal, ...]
    no_law: str
    lethality: Lethality | None
    compared: tuple[Compared, ...]
    diversions: tuple[FlowDiversion, ...]
    unproven: tuple[tuple[datetime, datetime, str], ...]
    thermometers_unfit: tuple[str, ...] = ()

    @property
    def best(self) -> Legal | None:
        return self.legal[0] if self.legal else None


def heat_record(premises: Premises, record: Record, sheet: HeatSheet | None) -> HeatRecord:
    """record: with a trace, its rulings and their limits."""
    assert record.trace is not None
    trace = trace_store.load(record.trace)
    product = _channels(trace, record, "product")
    air = _channels(trace, record, "air_space")
    if not product:
        no_law = "No channel of the recording is said to be the milk, so nothing can be judged."
        return HeatRecord(record, sheet, None, (), no_law, None, (), (), ())
    diversions = tuple(sheet.diversions.all()) if sheet else ()
    compared = tuple(_compared(trace, product[0], sheet)) if sheet else ()
    unfit = _thermometers_unfit(sheet) if sheet else ()
    legal, no_law = _legal(premises, record, sheet, trace, product, air, () if unfit else compared, diversions)
    threshold_c, hold_s = (legal[0].pair.lowest_c, legal[0].pair.hold_s) if legal else _plan_limit(record)
    uncertainty = record.expanded_uncertainty
    course = course_of(trace, product, threshold_c, hold_s=hold_s, expanded_uncertainty_c=uncertainty, air_space=air)
    return HeatRecord(
        record=record,
        sheet=sheet,
        course=course,
        legal=legal,
        no_law=no_law,
        lethality=lethality_of(
            trace, product, reference_c=threshold_c, hold_s=hold_s, expanded_uncertainty_c=uncertainty
        ),
        compared=compared,
        diversions=diversions,
        thermometers_unfit=unfit,
        unproven=tuple((trace.at(span.start_s), trace.at(span.end_s), span.sentence) for span in course.unproven),
    )


def _channels(trace: Trace, record: Record, role: str) -> tuple[str, ...]:
    return tuple(name for name in trace.channels if record.trace_roles.get(name) == role)


def _plan_limit(record: Record) -> tuple[float, float | None]:
    """°C and s of the plan's own limit, where the law has none."""
    for row in record.rulings.all():
        if row.limit.evaluator == "holding" and row.limit.low is not None:
            return float(row.limit.low), float(row.limit.parameters["hold_s"])
    return 63.0, None


def _legal(
    premises: Premises,
    record: Record,
    sheet: HeatSheet | None,
    trace: Trace,
    product: tuple[str, ...],
    air: tuple[str, ...],
    compared: Sequence[Compared],
    diversions: Sequence[FlowDiversion],
) -> tuple[tuple[Legal, ...], str]:
    if sheet is None:
        return (), "Say first how the milk was treated and how much fat it holds: the law asks for more of rich milk."
    try:
        pairs = required(
            premises.jurisdiction, Process(sheet.process), fat_percent=sheet.fat_percent, sweetened=sheet.sweetened
        )
    except InputError as error:
        return (), f"{error} The plan's own limit stands alone."
    if sheet.process == HeatSheet.Process.CONTINUOUS:
        found = [_flow(pair, record, sheet, trace, product[0], compared, diversions) for pair in pairs]
    else:
        above = AIR_SPACE_ABOVE_C.get(premises.jurisdiction) if sheet.process == HeatSheet.Process.BATCH else None
        found = [_held(pair, record, trace, above if air else None) for pair in pairs]
    return tuple(sorted(found, key=lambda one: BEST_FIRST.index(one.verdict.ruling))), ""


def _unfit(record: Record) -> str | None:
    """Why the recorder does not count: as it stood then, or found out later and nothing decided yet."""
    if record.instrument_unfit:
        return record.instrument_unfit
    doubt = standing_doubts([record.pk]).get(record.pk)
    return doubt.reason if doubt is not None else None


def _thermometers_unfit(sheet: HeatSheet) -> tuple[str, ...]:
    reasons = [sheet.thermometer_unfit, sheet.air_thermometer_unfit]
    doubt = doubted([sheet.pk]).get(sheet.pk)
    if doubt is not None:
        reasons.append(doubt.reason)
    return tuple(filter(None, reasons))


def _held(pair: LegalPair, record: Record, trace: Trace, air_space_above_c: float | None) -> Legal:
    """Every particle, continuously at or above: judged as the plan's own limits are."""
    parameters: dict[str, float] = {"hold_s": pair.hold_s}
    if air_space_above_c is not None:
        parameters["air_space_above_c"] = air_space_above_c
    limit = Limit("temperature", "holding", Comparator.AT_LEAST, low=pair.lowest_c, parameters={**parameters})
    evidence = Evidence(
        trace=trace,
        roles=dict(record.trace_roles),
        trace_expanded_uncertainty_c=record.expanded_uncertainty,
        trace_unfit=_unfit(record),
    )
    return Legal(pair, evaluators.judge(limit, evidence))


def _flow(
    pair: LegalPair,
    record: Record,
    sheet: HeatSheet,
    trace: Trace,
    channel: str,
    compared: Sequence[Compared],
    diversions: Sequence[FlowDiversion],
) -> Legal:
    tests: tuple[ValveTest, ...] = ()
    if sheet.cut_in_c is not None and sheet.cut_out_c is not None:
        tests = (ValveTest(trace.started_at, sheet.cut_in_c, sheet.cut_out_c),)
    checks = tuple(
        ThermometerCheck(one.at, one.indicating_c, one.recorded_c)
        for one in compared
        if one.indicating_c is not None and one.recorded_c is not None
    )
    run = Run(
        trace=trace,
        channel=channel,
        forward=_forward(trace, diversions),
        holding_s=sheet.holding_tube_s,
        valve_tests=tests,
        checks=checks,
        expanded_uncertainty_c=record.expanded_uncertainty,
        unfit=_unfit(record),
    )
    judged = judge_run(FlowRule(pair.lowest_c, pair.hold_s, pair.clause), run)
    return Legal(pair, judged.verdict, judged)


def _forward(trace: Trace, diversions: Sequence[FlowDiversion]) -> tuple[Interval, ...]:
    """The recording without the times that the flow was said to be diverted."""
    whole = [(float(trace.t_s[0]), float(trace.t_s[-1]))] if trace.t_s.size else []
    away = [
        ((one.began_at - trace.started_at).total_seconds(), (one.ended_at - trace.started_at).total_seconds())
        for one in diversions
    ]
    return tuple(subtract(whole, away))


def _compared(trace: Trace, channel: str, sheet: HeatSheet) -> list[Compared]:
    found = []
    for one in sheet.thermometers.all():
        at_s = (one.at - trace.started_at).total_seconds()
        values = trace.channels[channel]
        near = int(np.argmin(np.abs(trace.t_s - at_s))) if trace.t_s.size else -1
        is_there = near >= 0 and abs(float(trace.t_s[near]) - at_s) <= 60 and bool(np.isfinite(values[near]))
        recorded = float(values[near]) if is_there else None
        found.append(Compared(one.at, one.indicating_c, recorded, one.air_space_c))
    return found


def phosphatase_of(premises: Premises, make: Make) -> tuple[tuple[datetime, str, Verdict], ...]:
    """Every result of the batch, from the plan's checks and from the laboratory, judged with its species' caveats."""
    assert make.lot.product is not None
    species = {milk.species for milk in _milk_species(make)} or {make.lot.product.species}
    name = "mixed" if len(species) > 1 else SPECIES.get(MilkSpecies(next(iter(species))), next(iter(species)))
    read = Reading.objects.filter(
        record__lot=make.lot,
        record__amended_by__isnull=True,
        measure__quantity="phosphatase",
        value_si__isnull=False,
    ).select_related("record")
    found = [
        (one.record.observed_at, "check", float(one.value_si or 0.0), one.record.expanded_uncertainty) for one in read
    ]
    found += [
        (one.sampled_at, one.laboratory, one.activity_mu_per_l, 0.0)
        for one in PhosphataseResult.objects.filter(make=make)
    ]
    return tuple(
        (
            at,
            where,
            judge_phosphatase(value, name, jurisdiction=premises.jurisdiction, expanded_uncertainty=uncertainty),
        )
        for at, where, value, uncertainty in sorted(found)
    )


def _milk_species(make: Make) -> list[MilkLot]:
    return list(MilkLot.objects.filter(lot__links_out__child=make.lot))
