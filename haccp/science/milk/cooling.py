"""How fast milk was cooled, as far as its readings can tell."""

import math
from dataclasses import dataclass

import numpy as np

from haccp.science.errors import InputError
from haccp.science.guard import guard_band
from haccp.science.ruling import Ruling, Verdict
from haccp.science.trace import FloatArray
from haccp.science.units import show, spell_duration


@dataclass(frozen=True, slots=True)
class CoolingRule:
    """Milk is at wanted_c or colder within_s after the clock starts; a later milking may warm it to blend_c.

    The rules of law come as parameters: the US Grade A ordinance asks for 10 °C within 4 h of the start of milking,
    7 °C within 2 h after its end, and 10 °C for the blend.
    """

    wanted_c: float
    within_s: float
    blend_c: float | None = None


@dataclass(frozen=True, slots=True)
class TimeToCool:
    """The milk was still too warm at after_s, and cold at by_s; None where no reading says so.

    What lies between two readings nobody saw, so the truth is somewhere from after_s to by_s.
    """

    after_s: float | None
    by_s: float | None


def time_to_cool(t_s: FloatArray, temperature_c: FloatArray, wanted_c: float) -> TimeToCool:
    """When milk came to wanted_c for the first time.

    t_s, temperature_c: shape (n,), t_s increasing, in s from the start of the clock; NaN readings are passed over.
    ValueError for shapes that differ.
    """
    if t_s.shape != temperature_c.shape or t_s.ndim != 1:
        raise ValueError("Cooling needs one temperature for each time.")
    present = np.isfinite(temperature_c)
    t, is_cold = t_s[present], temperature_c[present] <= wanted_c + 1e-9
    first = int(np.argmax(is_cold)) if bool(is_cold.any()) else t.size
    return TimeToCool(
        after_s=float(t[first - 1]) if first > 0 else None,
        by_s=float(t[first]) if first < t.size else None,
    )


def judge_cooling(
    rule: CoolingRule,
    t_s: FloatArray,
    temperature_c: FloatArray,
    *,
    expanded_uncertainty_c: float = 0.0,
    ended_s: float | None = None,
) -> Verdict:
    """Whether milk was cooled in time.

    MET when a reading within the time is colder than wanted_c by the guard band and none after it is warmer than
    blend_c; BREACHED when a reading after the time is still too warm, or a later one warmer than blend_c; AWAITED
    while the time has not run out (ended_s: now, on the clock of t_s; the last reading when None); else UNPROVEN.
    margin: s between the reading that shows it and the end of the time. InputError for a rule that cannot be.
    """
    if not (rule.within_s > 0 and math.isfinite(rule.wanted_c)):
        raise InputError("A cooling rule needs a temperature and a time above zero.", remedy="Correct the rule.")
    seen = time_to_cool(t_s, temperature_c, rule.wanted_c)
    proven = time_to_cool(t_s, temperature_c, rule.wanted_c - guard_band(expanded_uncertainty_c))
    now = ended_s if ended_s is not None else float(t_s[-1]) if t_s.size else 0.0
    ruling, code, reason = _rule(rule, seen, proven, now)
    margin = None if proven.by_s is None else rule.within_s - proven.by_s
    warmest = _warmest_after(t_s, temperature_c, seen.by_s)
    if ruling is not Ruling.BREACHED and rule.blend_c is not None and warmest > rule.blend_c + 1e-9:
        ruling, code = Ruling.BREACHED, "cooling.blend"
        reason = f"The milk warmed to {_c(warmest)} again; at most {_c(rule.blend_c)} is allowed."
    facts = {"after_s": seen.after_s, "by_s": seen.by_s, "proven_by_s": proven.by_s, "within_s": rule.within_s}
    return Verdict(ruling, margin, code, reason, {**facts, "wanted_c": rule.wanted_c})


def _rule(rule: CoolingRule, seen: TimeToCool, proven: TimeToCool, now_s: float) -> tuple[Ruling, str, str]:
    asked = f"{_c(rule.wanted_c)} is asked for within {spell_duration(rule.within_s)}"
    if proven.by_s is not None and proven.by_s <= rule.within_s:
        return Ruling.MET, "cooling.met", f"The milk was cold after {spell_duration(proven.by_s)}; {asked}."
    if seen.after_s is not None and seen.after_s > rule.within_s:
        late = spell_duration(seen.after_s)
        return Ruling.BREACHED, "cooling.late", f"The milk was still too warm after {late}; {asked}."
    if now_s <= rule.within_s:
        left = spell_duration(rule.within_s - now_s)
        return Ruling.AWAITED, "cooling.awaited", f"The milk is not cold yet; {asked}: {left} left."
    if seen.by_s is not None and seen.by_s <= rule.within_s:
        reason = f"The milk came so near to the temperature that the thermometer cannot tell; {asked}."
        return Ruling.UNPROVEN, "cooling.uncertain", reason
    return Ruling.UNPROVEN, "cooling.unseen", f"No reading shows when the milk became cold; {asked}."


def _warmest_after(t_s: FloatArray, temperature_c: FloatArray, since_s: float | None) -> float:
    if since_s is None:
        return -math.inf
    later = temperature_c[(t_s >= since_s) & np.isfinite(temperature_c)]
    return float(later.max()) if later.size else -math.inf


def _c(temperature_c: float) -> str:
    return show("temperature", temperature_c)
