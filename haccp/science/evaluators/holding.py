"""Did the coldest of the milk stay at or above a temperature, without a break, for as long as it must?

The law says "every particle, continuously at or above" (21 CFR 1240.61(b)): a lethality integral does not answer
that.
"""

from dataclasses import dataclass

import numpy as np

from haccp.science.evaluators.evaluator import Evaluator, number
from haccp.science.evaluators.wording import capital
from haccp.science.evidence import Evidence
from haccp.science.heat import quality
from haccp.science.heat.holding import runs_at_or_above
from haccp.science.heat.intervals import Interval, intersect, length_s, longest, share_time, subtract, total_s
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.trace import FloatArray, Trace
from haccp.science.units import decimals_to_tell_apart, show, show_difference, spell_duration

NOISE_S = 1e-6


@dataclass(frozen=True, slots=True)
class _Case:
    """The limit and the trace, taken apart."""

    limit: Limit
    low_c: float
    hold_s: float
    air_low_c: float | None
    uncertainty_c: float
    unfit: str | None
    trace: Trace
    product: tuple[str, ...]
    air_space: tuple[str, ...]
    flaws: tuple[quality.Span, ...]

    def suffices(self, run: Interval | None) -> bool:
        return length_s(run) >= self.hold_s - NOISE_S

    def product_runs(self, uncertainty_c: float) -> list[Interval]:
        """Runs of the lowest product probe, lines drawn across gaps."""
        return self._runs(self.product, self.low_c + uncertainty_c)

    def runs(self, uncertainty_c: float, *, across_flaws: bool = False) -> list[Interval]:
        """Runs of everything that must be warm at once."""
        found = self.product_runs(uncertainty_c)
        if self.air_low_c is not None:
            found = intersect(found, self._runs(self.air_space, self.air_low_c + uncertainty_c))
        return found if across_flaws else self.unbroken(found)

    def unbroken(self, runs: list[Interval]) -> list[Interval]:
        return subtract(runs, [(flaw.start_s, flaw.end_s) for flaw in self.flaws])

    def _runs(self, names: tuple[str, ...], threshold_c: float) -> list[Interval]:
        every = [runs_at_or_above(self.trace.t_s, self.trace.channels[name], threshold_c) for name in names]
        found = every[0]
        for other in every[1:]:
            found = intersect(found, other)
        return found

    @property
    def low_words(self) -> str:
        return show(self.limit.quantity, self.low_c, self.limit.unit)

    @property
    def required(self) -> str:
        return f"{spell_duration(self.hold_s)} are required"


def judge(limit: Limit, evidence: Evidence) -> Verdict:
    """MET when one run, on value − U of every product probe and free of gaps and of stuck or jumping sensors, is as
    long as hold_s (CLOSE when shorter than target_hold_s). Where air_space_above_c is given, every air-space probe
    must be that much above the limit through the same run.
    UNPROVEN when only the uncertainty, a flaw of the record or an unfit recorder stands against it, or when there
    is no trace of the product. Else BREACHED. margin: seconds by which the longest run exceeds hold_s.
    """
    case = _case(limit, evidence)
    if isinstance(case, Verdict):
        return case
    proven = longest(case.runs(case.uncertainty_c))
    if case.suffices(proven):
        assert proven is not None
        return _long_enough(case, proven)
    for runs, code in (
        (case.runs(0.0), "holding.uncertain"),
        (case.runs(0.0, across_flaws=True), "holding.flawed"),
    ):
        run = longest(runs)
        if run is not None and case.suffices(run):
            return _unproven(case, run, proven, code)
    return _too_short(case)


def _case(limit: Limit, evidence: Evidence) -> _Case | Verdict:
    trace, low_c, hold_s = evidence.trace, limit.low, number(limit, "hold_s")
    assert low_c is not None
    assert hold_s is not None
    above = number(limit, "air_space_above_c")
    if trace is None or trace.t_s.size == 0:
        return Verdict(Ruling.UNPROVEN, None, "holding.no_trace", "There is no recording of this heat treatment.")
    by_role = {
        role: tuple(name for name in trace.channels if evidence.roles.get(name) == role)
        for role in ("product", "air_space")
    }
    if not by_role["product"]:
        reason = "No channel of the recording is marked as the product; say which probe was in the milk."
        return Verdict(Ruling.UNPROVEN, None, "holding.no_product", reason)
    if above is not None and not by_role["air_space"]:
        reason = "No channel of the recording is marked as the air space; say which probe was above the milk."
        return Verdict(Ruling.UNPROVEN, None, "holding.no_air_space", reason)
    max_gap_s = number(limit, "max_gap_s")
    max_gap_s = quality.default_max_gap_s(trace, hold_s) if max_gap_s is None else max_gap_s
    stuck_s = number(limit, "stuck_s") or quality.STUCK_S
    air_space = by_role["air_space"] if above is not None else ()
    return _Case(
        limit,
        low_c,
        hold_s,
        None if above is None else low_c + above,
        evidence.trace_expanded_uncertainty_c,
        evidence.trace_unfit,
        trace,
        by_role["product"],
        air_space,
        tuple(
            span
            for name in (*by_role["product"], *air_space)
            for span in quality.spans(trace, name, max_gap_s=max_gap_s, stuck_s=stuck_s)
        ),
    )


def _long_enough(case: _Case, run: Interval) -> Verdict:
    held_s = length_s(run)
    margin = held_s - case.hold_s
    facts = _facts(case, run)
    start = f"{_held(case, held_s)}; {case.required}."
    if case.unfit:
        reason = f"{start} That would do, but the recorder cannot be relied on: {case.unfit}."
        return Verdict(Ruling.UNPROVEN, margin, "holding.unfit", reason, facts)
    spare = f"{capital(spell_duration(margin))} to spare" if margin >= 0.1 else "Nothing to spare"
    target_s = number(case.limit, "target_hold_s")
    if target_s is not None and held_s < target_s - NOISE_S:
        reason = f"{start} {spare}, but shorter than the target of {spell_duration(target_s)}."
        return Verdict(Ruling.CLOSE, margin, "holding.close", reason, facts)
    return Verdict(Ruling.MET, margin, "holding.met", f"{start} {spare}.", facts)


def _held(case: _Case, held_s: float) -> str:
    doubt = ""
    if case.uncertainty_c > 0:
        size = show_difference(case.limit.quantity, case.uncertainty_c, case.limit.unit)
        doubt = f" (with {size} allowed for the recorder)"
    return f"Held at or above {case.low_words}{doubt} for {spell_duration(held_s)} without a break"


def _unproven(case: _Case, run: Interval, proven: Interval | None, code: str) -> Verdict:
    """run: long enough, but only on doubtful evidence. proven: the longest run free of doubt, if any."""
    facts = _facts(case, run)
    if code == "holding.uncertain":
        size = show_difference(case.limit.quantity, case.uncertainty_c, case.limit.unit)
        reason = (
            f"Held at or above {case.low_words} for {spell_duration(length_s(run))}, but the recorder may be off "
            f"by {size}: {spell_duration(length_s(proven))} are beyond doubt; {case.required}."
        )
        return Verdict(Ruling.UNPROVEN, length_s(proven) - case.hold_s, code, reason, facts)
    flaws = [flaw for flaw in case.flaws if share_time((flaw.start_s, flaw.end_s), run)]
    worst = max(flaws, key=lambda flaw: flaw.end_s - flaw.start_s)
    reason = (
        f"Held at or above {case.low_words} for {spell_duration(length_s(run))} only if a bad part of the "
        f"recording is counted; {case.required}. {worst.sentence} Without it the longest part is "
        f"{spell_duration(length_s(longest(case.runs(0.0))))}."
    )
    return Verdict(Ruling.UNPROVEN, None, f"holding.{worst.kind}", reason, facts)


def _too_short(case: _Case) -> Verdict:
    """Not long enough on the readings as they stand: of the milk itself, or else of the air above it."""
    product = longest(case.unbroken(case.product_runs(0.0)))
    if case.suffices(product):
        return _air_too_cool(case, product)
    lack_s = case.hold_s - length_s(product)
    if product is None:
        reason = f"Never held at or above {case.low_words}; {case.required}.{_warmest(case)}"
        return Verdict(Ruling.BREACHED, -lack_s, "holding.never", reason, _facts(case, None))
    reason = (
        f"Held at or above {case.low_words} for {spell_duration(length_s(product))} without a break; "
        f"{case.required}. {capital(spell_duration(lack_s, round_up=True))} too short."
    )
    if product[1] >= float(case.trace.t_s[-1]):
        reason += " The recording ends while it is still held."
    return Verdict(Ruling.BREACHED, -lack_s, "holding.too_short", reason, _facts(case, product))


def _air_too_cool(case: _Case, product: Interval | None) -> Verdict:
    assert case.air_low_c is not None
    run = longest(case.runs(0.0))
    reason = (
        f"The milk was held at or above {case.low_words} for {spell_duration(length_s(product))}, but the air "
        f"above it was at or above {show(case.limit.quantity, case.air_low_c, case.limit.unit)} for only "
        f"{spell_duration(length_s(run))} of that; {case.required}."
    )
    return Verdict(Ruling.BREACHED, length_s(run) - case.hold_s, "holding.air_space", reason, _facts(case, run))


def _warmest(case: _Case) -> str:
    lowest = _lowest_probe(case)
    if not np.isfinite(lowest).any():
        return ""
    peak_c = float(np.nanmax(lowest))
    decimals = decimals_to_tell_apart(case.limit.quantity, (peak_c, case.low_c), case.limit.unit)
    return f" The coldest probe reached {show(case.limit.quantity, peak_c, case.limit.unit, decimals=decimals)}."


def _lowest_probe(case: _Case) -> FloatArray:
    """Pointwise lowest of the product probes, NaN where none has a sample. Shape (n,)."""
    values = np.stack([case.trace.channels[name] for name in case.product])
    lowest = np.where(np.isfinite(values), values, np.inf).min(axis=0)
    return np.where(np.isfinite(lowest), lowest, np.nan)


def _facts(case: _Case, run: Interval | None) -> dict[str, JsonValue]:
    """Numbers behind the sentence. run: the one that the sentence speaks of."""
    t, lowest = case.trace.t_s, _lowest_probe(case)
    facts: dict[str, JsonValue] = {
        "low_c": case.low_c,
        "needed_s": case.hold_s,
        "uncertainty_c": case.uncertainty_c,
        "unfit": case.unfit,
        "longest_s": length_s(run),
        "total_s": total_s(case.runs(case.uncertainty_c)),
        "proven_s": length_s(longest(case.runs(case.uncertainty_c))),
        "flaws": [
            {"start_s": f.start_s, "end_s": f.end_s, "kind": f.kind.value, "sentence": f.sentence} for f in case.flaws
        ],
    }
    if run is None:
        return facts
    inside = lowest[(t >= run[0]) & (t <= run[1]) & np.isfinite(lowest)]
    minimum = float(inside.min()) if inside.size else case.low_c
    return facts | {
        "run_start_s": run[0],
        "run_end_s": run[1],
        "run_started_at": case.trace.at(run[0]).isoformat(),
        "run_ended_at": case.trace.at(run[1]).isoformat(),
        "minimum_c": minimum,
        "lowest_credible_c": minimum - case.uncertainty_c,
        "come_up_s": run[0] - float(t[0]),
        "cool_down_s": float(t[-1]) - run[1],
    }


EVALUATOR = Evaluator(
    name="holding",
    title="Held at or above a temperature, without a break, on a recorder trace",
    schema={
        "type": "object",
        "properties": {
            "hold_s": {"type": "number", "exclusiveMinimum": 0},
            "target_hold_s": {"type": "number", "exclusiveMinimum": 0},
            "air_space_above_c": {"type": "number", "minimum": 0},
            "max_gap_s": {"type": "number", "exclusiveMinimum": 0},
            "stuck_s": {"type": "number", "exclusiveMinimum": 0},
        },
        "required": ["hold_s"],
        "additionalProperties": False,
    },
    comparators=frozenset({Comparator.AT_LEAST}),
    judge=judge,
    quantities=frozenset({"temperature"}),
)
