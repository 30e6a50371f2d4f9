"""Two- and three-class attribute plans: n units, at most c of them above m, none above M.

Regulation (EC) 2073/2005, Annex I, gives plans in this form and their interpretation (in part from memory); the
scheme is ICMSF's (Microorganisms in Foods 7, from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from haccp.science.errors import InputError
from haccp.science.ruling import JsonValue, Ruling, Verdict


class Grade(StrEnum):
    SATISFACTORY = "satisfactory"  # every unit at m or below
    ACCEPTABLE = "acceptable"  # at most c units above m, none above M
    UNSATISFACTORY = "unsatisfactory"  # a unit above M, or more than c above m


_RULING = {
    Grade.SATISFACTORY: Ruling.MET,
    Grade.ACCEPTABLE: Ruling.CLOSE,
    Grade.UNSATISFACTORY: Ruling.BREACHED,
}


@dataclass(frozen=True, slots=True)
class Plan:
    """n, c, m, M. upper (M) is None in a two-class plan. Counts per g, mL or cm², m and M in the same."""

    n: int
    c: int
    m: float
    upper: float | None = None

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.c < self.n:
            raise InputError("A plan takes n units, and lets fewer than n of them pass m.", remedy="Correct n or c.")
        if not 0 <= self.m <= (math.inf if self.upper is None else self.upper):
            raise InputError("m is zero or more, and M is no less than m.", remedy="Correct m or M.")


@dataclass(frozen=True, slots=True)
class Count:
    """A result as the laboratory gives it: from low to high. Make it with exactly, below or above."""

    low: float
    high: float
    text: str

    @classmethod
    def exactly(cls, value: float) -> "Count":
        """A count. InputError below zero."""
        if not (math.isfinite(value) and value >= 0):
            raise InputError("A count is zero or more.", remedy="Type the laboratory's number.")
        return cls(value, value, _digits(value))

    @classmethod
    def below(cls, value: float) -> "Count":
        """“< value”: fewer than the method can count. Taken as no more than value."""
        return cls(0.0, cls.exactly(value).high, f"< {_digits(value)}")

    @classmethod
    def above(cls, value: float) -> "Count":
        """“> value”: more than the plate can show."""
        low = cls.exactly(value).low
        # Not the value itself: “> 1000” is above an M of 1000
        return cls(math.nextafter(low, math.inf), math.inf, f"> {_digits(value)}")


def grade(plan: Plan, values: Sequence[float]) -> Grade:
    """The grade of exactly known counts, one a unit (fewer than n are graded as they are: see judge)."""
    marginal = sum(value > plan.m for value in values)
    # With two classes there is no M, and a unit above m is one of the c
    has_defective = plan.upper is not None and any(value > plan.upper for value in values)
    if has_defective or marginal > plan.c:
        return Grade.UNSATISFACTORY
    return Grade.ACCEPTABLE if marginal else Grade.SATISFACTORY


def judge(plan: Plan, counts: Sequence[Count]) -> Verdict:
    """The verdict on the units of one batch.

    MET satisfactory, CLOSE acceptable, BREACHED unsatisfactory. UNPROVEN when units are missing and those that there
    are do not condemn the batch by themselves, and when “<” or “>” leaves the grade open.
    facts: grade (None when open), counts, n, c, m, M, above_m, above_M. InputError for more units than the plan.
    """
    if len(counts) > plan.n:
        raise InputError(
            f"The plan takes {plan.n} units and {len(counts)} are given.",
            remedy="Judge the others apart.",
        )
    best, worst = grade(plan, [c.low for c in counts]), grade(plan, [c.high for c in counts])
    above_m = sum(c.low > plan.m for c in counts)
    above_top = 0 if plan.upper is None else sum(c.low > plan.upper for c in counts)
    missing = plan.n - len(counts)
    found, code, reason = _rule(plan, best, worst, missing)
    tail = f" ({above_m} of {len(counts)} above m = {_digits(plan.m)}"
    tail += ")" if plan.upper is None else f", {above_top} above M = {_digits(plan.upper)})"
    return Verdict(
        Ruling.UNPROVEN if found is None else _RULING[found],
        None,
        code,
        f"{reason}{tail}.",
        {
            "grade": found,
            "counts": [c.text for c in counts],
            "n": plan.n,
            "c": plan.c,
            "m": plan.m,
            "M": plan.upper,
            "above_m": above_m,
            "above_M": above_top,
        },
    )


def judge_absence(n: int, detected: Sequence[bool], *, amount: str = "25 g") -> Verdict:
    """A plan of absence: n units of amount, none of which may show the organism.

    BREACHED as soon as one does; UNPROVEN while units are missing; else MET. InputError for more than n.
    """
    if len(detected) > n:
        raise InputError(f"The plan takes {n} units and {len(detected)} are given.", remedy="Judge them apart.")
    found = sum(detected)
    facts: dict[str, JsonValue] = {"found": found, "units": len(detected), "n": n, "amount": amount}
    if found:
        reason = f"Found in {found} of {len(detected)} units of {amount}; it must be absent from all."
        return Verdict(Ruling.BREACHED, None, "sampling.found", reason, {**facts, "grade": Grade.UNSATISFACTORY})
    if len(detected) < n:
        reason = f"Not found in {len(detected)} units of {amount}; {n} units are to be examined."
        return Verdict(Ruling.UNPROVEN, None, "sampling.units_missing", reason, {**facts, "grade": None})
    reason = f"Not found in {n} units of {amount}."
    return Verdict(Ruling.MET, None, "sampling.absent", reason, {**facts, "grade": Grade.SATISFACTORY})


def _rule(plan: Plan, best: Grade, worst: Grade, missing: int) -> tuple[Grade | None, str, str]:
    if best is Grade.UNSATISFACTORY:
        return best, "sampling.unsatisfactory", "Unsatisfactory"
    if missing:
        return None, "sampling.units_missing", f"{missing} of {plan.n} units are missing, so no verdict is possible"
    if best is not worst:
        return None, "sampling.open", "A result given as “<” or “>” leaves the verdict open"
    return best, f"sampling.{best}", best.capitalize()


def _digits(value: float) -> str:
    """A count in digits, in groups of three from 10 000 up."""
    text = f"{value:,.10g}"
    return text.replace(",", "\u00a0" if value >= 10_000 else "")
