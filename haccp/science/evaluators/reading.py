"""Every reading against its bounds: the worst one rules."""

import math

from haccp.science.evaluators import bounds
from haccp.science.evaluators.evaluator import NUMERIC, Evaluator
from haccp.science.evaluators.wording import capital
from haccp.science.evidence import Evidence, Reading
from haccp.science.guard import guard_band
from haccp.science.limit import Limit
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.units import decimals_to_tell_apart, quantity_of, show, show_difference

_WORST_FIRST = (Ruling.BREACHED, Ruling.UNPROVEN, Ruling.CLOSE, Ruling.MET)


def judge(limit: Limit, evidence: Evidence) -> Verdict:
    """BREACHED outside the limit, whatever the instrument is worth; UNPROVEN inside by less than the guard band
    (JCGM 106) or from an unfit instrument; CLOSE past the target; else MET. No reading: UNPROVEN.
    """
    if not evidence.readings:
        return Verdict(
            Ruling.UNPROVEN, None, "reading.missing", f"Nothing was read; {bounds.allowed(limit)} is needed."
        )
    verdicts = [_judge_one(limit, reading, len(evidence.readings)) for reading in evidence.readings]
    return min(verdicts, key=_badness)


def _badness(verdict: Verdict) -> tuple[int, float]:
    return _WORST_FIRST.index(verdict.ruling), -math.inf if verdict.margin is None else verdict.margin


def _judge_one(limit: Limit, reading: Reading, count: int) -> Verdict:
    if reading.value is None or not math.isfinite(reading.value):
        reason = f"{_subject(limit, reading)}: no value was read; {bounds.allowed(limit)} is needed."
        return Verdict(Ruling.UNPROVEN, None, "reading.no_value", reason, {"label": reading.label})
    value, margin = reading.value, bounds.margin(limit, reading.value)
    ruling, code, words = _rule(limit, reading, value)
    shown = show(limit.quantity, value, limit.unit, decimals=bounds.places(limit, value))
    whole = f" (the worst of {count} readings)" if count > 1 else ""
    name = _subject(limit, reading)
    # "pH pH 5.30" would stutter
    start = shown if shown.startswith(name) else f"{name} {shown}"
    return Verdict(ruling, margin, code, f"{start}{whole}; {words}", _facts(limit, reading, margin, count))


def _rule(limit: Limit, reading: Reading, value: float) -> tuple[Ruling, str, str]:
    """Ruling, code, and the second half of the sentence."""
    must = f"it must be {bounds.allowed(limit, bounds.places(limit, value))}"
    if not bounds.is_inside(limit, value):
        return Ruling.BREACHED, "reading.outside", f"{must}. {bounds.distance_words(limit, value)}."
    if reading.unfit:
        return (
            Ruling.UNPROVEN,
            "reading.unfit",
            f"{must}. That would do, but the instrument cannot be relied on: {reading.unfit}.",
        )
    if not bounds.is_proven(limit, value, reading.expanded_uncertainty):
        return Ruling.UNPROVEN, "reading.uncertain", f"{must}. {_too_near(limit, reading)}"
    if bounds.is_past_target(limit, value):
        target = _passed_target(limit, value)
        return (
            Ruling.CLOSE,
            "reading.close",
            f"{must}. {bounds.distance_words(limit, value)}, but past the target of {target}.",
        )
    return Ruling.MET, "reading.met", f"{must}. {bounds.distance_words(limit, value)}."


def _too_near(limit: Limit, reading: Reading) -> str:
    assert reading.value is not None
    doubt, band = reading.expanded_uncertainty, guard_band(reading.expanded_uncertainty)
    digits = decimals_to_tell_apart(limit.quantity, (band, doubt, 0.0), limit.unit) + 1
    return (
        f"{bounds.distance_words(limit, reading.value)} is too little to be sure: the instrument may be off by "
        f"{show_difference(limit.quantity, doubt, limit.unit, decimals=digits)}, so "
        f"{show_difference(limit.quantity, band, limit.unit, decimals=digits)} are needed."
    )


def _passed_target(limit: Limit, value: float) -> str:
    low, high = limit.target_low, limit.target_high
    target = low if low is not None and value < low else high
    assert target is not None
    return show(
        limit.quantity,
        target,
        limit.unit,
        decimals=decimals_to_tell_apart(limit.quantity, (value, target), limit.unit),
    )


def _subject(limit: Limit, reading: Reading) -> str:
    return capital(reading.label or quantity_of(limit.quantity).name)


def _facts(limit: Limit, reading: Reading, margin: float, count: int) -> dict[str, JsonValue]:
    return {
        "value": reading.value,
        "label": reading.label,
        "margin": margin,
        "low": limit.low,
        "high": limit.high,
        "expanded_uncertainty": reading.expanded_uncertainty,
        "guard_band": guard_band(reading.expanded_uncertainty),
        "unfit": reading.unfit,
        "observed_at": reading.observed_at.isoformat(),
        "readings": count,
    }


EVALUATOR = Evaluator(
    name="reading",
    title="Each reading against the limit",
    schema={"type": "object", "properties": {}, "additionalProperties": False},
    comparators=NUMERIC,
    judge=judge,
)
