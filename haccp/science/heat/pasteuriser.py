"""A run of a continuous pasteuriser: what flowed forward, and whether all of it was hot enough, long enough.

The recording thermometer and the position of the diversion valve tell what happened; the indicating thermometer is
the official one, and the recorder may read no higher than it (Grade “A” PMO, item 16p and appendix H, from memory).
"""

import math
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

import numpy as np

from haccp.science.errors import InputError
from haccp.science.guard import guard_band
from haccp.science.heat.holding import NOISE_C, runs_at_or_above
from haccp.science.heat.intervals import Interval, intersect, subtract, total_s
from haccp.science.heat.quality import STUCK_S, Flaw, spans
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.trace import FloatArray, Trace
from haccp.science.units import show, spell_duration

_WORST_FIRST = (Ruling.BREACHED, Ruling.UNPROVEN, Ruling.CLOSE, Ruling.MET)


@dataclass(frozen=True, slots=True)
class ThermometerCheck:
    """What both thermometers showed at one moment, °C."""

    at: datetime
    indicating_c: float
    recorded_c: float


@dataclass(frozen=True, slots=True)
class ValveTest:
    """The product temperature, °C, at which the valve went to forward flow, and at which it diverted."""

    at: datetime
    cut_in_c: float
    cut_out_c: float


@dataclass(frozen=True, slots=True)
class FlowRule:
    """lowest_c for hold_s, without a break, for every particle. recorder_above_c: how much the recorder may exceed the
    indicating thermometer; 0 by the PMO.
    """

    lowest_c: float
    hold_s: float
    clause: str
    recorder_above_c: float = 0.0


@dataclass(frozen=True, slots=True)
class Diversion:
    """start_s, end_s: offsets in the trace. lowest_c: the coldest that the recorder showed, None without a sample."""

    start_s: float
    end_s: float
    lowest_c: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """The evidence of one run.

    trace, channel: the recording thermometer at the end of the holding tube, °C. forward: the times of forward flow,
    (start_s, end_s) in the trace, in order. holding_s: of the fastest particle by the last test of the tube (salt
    conductivity) at the greatest flow, None when it was not tested. expanded_uncertainty_c: U (k = 2) of the recorder.
    unfit: why it cannot be relied on. stuck_s: how long its very same value is still believed.
    """

    trace: Trace
    channel: str
    forward: tuple[Interval, ...]
    holding_s: float | None
    valve_tests: tuple[ValveTest, ...] = ()
    checks: tuple[ThermometerCheck, ...] = ()
    expanded_uncertainty_c: float = 0.0
    unfit: str | None = None
    stuck_s: float = STUCK_S


@dataclass(frozen=True, slots=True)
class RunJudgement:
    """verdict: the worst of findings. diversions: every stop of forward flow between its first start and last end."""

    verdict: Verdict
    findings: tuple[Verdict, ...]
    diversions: tuple[Diversion, ...]
    forward_s: float


def judge_run(rule: FlowRule, run: Run) -> RunJudgement:
    """Four findings, each a verdict of its own: flow, holding tube, valve, thermometers; the worst of them rules.

    Flow: BREACHED when milk went forward while the recorder showed less than lowest_c; UNPROVEN when it did so over a
    gap, a stuck or a jumping recorder, or within the guard band (JCGM 106) of it, from an unfit recorder, and when
    nothing went forward; else MET. Holding tube and valve: UNPROVEN without a test. Thermometers: UNPROVEN without a
    check, BREACHED when the recorder read too high. InputError for times of flow out of order.
    """
    _check(rule, run)
    findings = (
        _judge_flow(rule, run),
        _judge_tube(rule, run),
        _judge_valve(rule, run),
        _judge_thermometers(rule, run),
    )
    worst = min(findings, key=lambda v: _WORST_FIRST.index(v.ruling))
    return RunJudgement(worst, findings, tuple(diversions(run)), total_s(run.forward))


def diversions(run: Run) -> list[Diversion]:
    """Every stretch without forward flow, from its first start to its last end."""
    if not run.forward:
        return []
    whole = (run.forward[0][0], run.forward[-1][1])
    values = run.trace.channels[run.channel]
    found = []
    for start, end in subtract([whole], run.forward):
        own = values[(run.trace.t_s >= start) & (run.trace.t_s <= end) & np.isfinite(values)]
        found.append(Diversion(start, end, float(own.min()) if own.size else None))
    return found


def _judge_flow(rule: FlowRule, run: Run) -> Verdict:
    forward = list(run.forward)
    must = f"{_c(rule.lowest_c)} or more is needed ({rule.clause})"
    if not forward:
        return Verdict(Ruling.UNPROVEN, None, "flow.none", "No forward flow is recorded.")
    t, values = run.trace.t_s, run.trace.channels[run.channel]
    flaws = spans(run.trace, run.channel, stuck_s=run.stuck_s)
    seen = subtract(intersect(forward, _recorded(t)), [(s.start_s, s.end_s) for s in flaws])
    hot = intersect(runs_at_or_above(t, values, rule.lowest_c), forward)
    # A jump or a stuck value may hide cold milk but cannot make a cold reading warm; over a gap nothing was read
    gaps = [(s.start_s, s.end_s) for s in flaws if s.kind is Flaw.GAP]
    cold = subtract(subtract(intersect(forward, _recorded(t[np.isfinite(values)])), hot), gaps)
    sure = runs_at_or_above(t, values, rule.lowest_c + guard_band(run.expanded_uncertainty_c))
    proven = intersect(seen, sure)
    facts: dict[str, JsonValue] = {
        "forward_s": total_s(forward),
        "proven_s": total_s(proven),
        "cold_s": total_s(cold),
        "lowest_c": rule.lowest_c,
    }
    coldest = _coldest(run)
    margin = None if coldest is None else coldest - rule.lowest_c
    if total_s(cold) > 1e-6 or (coldest is not None and coldest < rule.lowest_c - NOISE_C):
        lasted = f" for {spell_duration(total_s(cold), round_up=True)}" if total_s(cold) > 1e-6 else ""
        reason = f"Milk went forward{lasted} below the limit; {must}."
        return Verdict(Ruling.BREACHED, margin, "flow.cold", reason, facts)
    lacking = total_s(forward) - total_s(proven)
    if run.unfit is not None:
        reason = f"The recorder cannot be relied on: {run.unfit}; {must}."
        return Verdict(Ruling.UNPROVEN, margin, "flow.unfit", reason, facts)
    if lacking > 1e-6:
        reason = f"For {spell_duration(lacking, round_up=True)} of forward flow the record does not prove it; {must}."
        return Verdict(Ruling.UNPROVEN, margin, "flow.unproven", reason, facts)
    reason = f"All {spell_duration(total_s(forward))} of forward flow were hot enough; {must}."
    return Verdict(Ruling.MET, margin, "flow.met", reason, facts)


def _judge_tube(rule: FlowRule, run: Run) -> Verdict:
    asked = f"{spell_duration(rule.hold_s)} are needed"
    if run.holding_s is None:
        return Verdict(Ruling.UNPROVEN, None, "tube.untested", f"The holding time was not tested; {asked}.")
    margin = run.holding_s - rule.hold_s
    reason = f"The holding tube holds {spell_duration(run.holding_s)}; {asked}."
    if margin < -1e-9:
        return Verdict(Ruling.BREACHED, margin, "tube.short", reason)
    return Verdict(Ruling.MET, margin, "tube.met", reason)


def _judge_valve(rule: FlowRule, run: Run) -> Verdict:
    if not run.valve_tests:
        reason = "Cut-in and cut-out of the diversion valve were not tested in this run."
        return Verdict(Ruling.UNPROVEN, None, "valve.untested", reason)
    worst = min(run.valve_tests, key=lambda test: test.cut_out_c)
    margin = worst.cut_out_c - rule.lowest_c
    if margin < -1e-9:
        reason = f"The valve diverted at {_c(worst.cut_out_c)} only, below the {_c(rule.lowest_c)} that are needed."
        return Verdict(Ruling.BREACHED, margin, "valve.cut_out", reason)
    if any(test.cut_in_c < test.cut_out_c for test in run.valve_tests):
        reason = "A cut-in below its cut-out was recorded, which no valve does: was the test written down right?"
        return Verdict(Ruling.UNPROVEN, margin, "valve.order", reason)
    reason = f"The valve diverted at {_c(worst.cut_out_c)}; {_c(rule.lowest_c)} are needed."
    return Verdict(Ruling.MET, margin, "valve.met", reason)


def _judge_thermometers(rule: FlowRule, run: Run) -> Verdict:
    if not run.checks:
        reason = "The recorder was not compared with the indicating thermometer in this run."
        return Verdict(Ruling.UNPROVEN, None, "thermometers.unchecked", reason)
    worst = max(run.checks, key=lambda check: check.recorded_c - check.indicating_c)
    margin = rule.recorder_above_c - (worst.recorded_c - worst.indicating_c)
    reason = f"The recorder showed {_c(worst.recorded_c)} and the indicating thermometer {_c(worst.indicating_c)}"
    coldest = min(check.indicating_c for check in run.checks)
    if coldest < rule.lowest_c - 1e-9 and _is_forward_at(run, coldest):
        reason = f"The indicating thermometer showed {_c(coldest)} in forward flow; {_c(rule.lowest_c)} are needed."
        return Verdict(Ruling.BREACHED, coldest - rule.lowest_c, "thermometers.cold", reason)
    if margin < -1e-9:
        reason += ": the recorder must read no higher, so its whole record is too favourable."
        return Verdict(Ruling.BREACHED, margin, "thermometers.recorder_high", reason)
    return Verdict(Ruling.MET, margin, "thermometers.met", f"{reason}.")


def _is_forward_at(run: Run, indicating_c: float) -> bool:
    at = [(c.at - run.trace.started_at).total_seconds() for c in run.checks if c.indicating_c == indicating_c]
    return any(start <= moment <= end for moment in at for start, end in run.forward)


def _recorded(t: FloatArray) -> list[Interval]:
    return [(float(t[0]), float(t[-1]))] if t.size else []


def _coldest(run: Run) -> float | None:
    t, values = run.trace.t_s, run.trace.channels[run.channel]
    inside = np.zeros(t.shape, dtype=bool)
    for start, end in run.forward:
        # Not the ends: at the moment of the switch the milk goes the other way already
        inside |= (t > start) & (t < end)
    own = values[inside & np.isfinite(values)]
    return float(own.min()) if own.size else None


def _check(rule: FlowRule, run: Run) -> None:
    if not (math.isfinite(rule.lowest_c) and rule.hold_s > 0):
        raise InputError("The rule needs a temperature and a time above zero.", remedy="Correct the rule.")
    edges = [moment for span in run.forward for moment in span]
    if any(b < a for a, b in pairwise(edges)):
        raise InputError("The times of forward flow are out of order.", remedy="Give them from first to last.")


def _c(temperature_c: float) -> str:
    return show("temperature", temperature_c)
