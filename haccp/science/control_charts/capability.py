"""Whether what a process does by itself fits its limits.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.science.control_charts.individuals import D2, checked
from haccp.science.errors import InputError

_FEW = 25


@dataclass(frozen=True, slots=True)
class Capability:
    """cp, pp: (high − low) / 6 sigma, None with one limit only. cpk, ppk: distance of the mean to the nearer limit /
    3 sigma. Cp and Cpk take sigma within (mean moving range / 1.128), Pp and Ppk sigma overall.

    share_outside: of values outside the limits that a normal distribution of this mean and overall sigma has.
    sentence: what that means; it warns where there are few values.
    """

    mean: float
    sigma_within: float
    sigma_overall: float
    cp: float | None
    cpk: float
    pp: float | None
    ppk: float
    share_outside: float
    sentence: str


def capability(values: Sequence[float], *, low: float | None = None, high: float | None = None) -> Capability:
    """Values in order of time against low, high, or both. A chart should be free of signals first.

    InputError without a limit, with limits out of order, fewer than two values, and values that never change.
    """
    x = checked(values)
    if low is None and high is None:
        raise InputError("A capability is against a limit.", remedy="Give the lowest value, the highest, or both.")
    if low is not None and high is not None and low >= high:
        raise InputError("The lowest value is not below the highest.", remedy="Exchange the two.")
    mean, overall = float(x.mean()), float(x.std(ddof=1))
    within = float(np.abs(np.diff(x)).mean()) / D2
    if within == 0 or overall == 0:
        raise InputError("The values never change.", remedy="Record them with more digits.")
    to_low = math.inf if low is None else mean - low
    to_high = math.inf if high is None else high - mean
    nearer = min(to_low, to_high)
    width = None if low is None or high is None else high - low
    outside = sum(0.5 * math.erfc(d / overall / math.sqrt(2)) for d in (to_low, to_high) if math.isfinite(d))
    ppk = nearer / (3 * overall)
    return Capability(
        mean=mean,
        sigma_within=within,
        sigma_overall=overall,
        cp=None if width is None else width / (6 * within),
        cpk=nearer / (3 * within),
        pp=None if width is None else width / (6 * overall),
        ppk=ppk,
        share_outside=outside,
        sentence=_words(ppk, outside, x.size),
    )


def _words(ppk: float, outside: float, count: int) -> str:
    share = f"about {outside * 100:.2g} %" if outside >= 1e-6 else "less than one in a million"
    # 1 and 1.33: common practice, no source
    if ppk < 0:
        verdict = "The mean itself lies outside the limit"
    elif ppk < 1:
        verdict = "The process cannot hold the limit by itself"
    elif ppk < 1.33:
        verdict = "The process holds the limit with little to spare"
    else:
        verdict = "The process holds the limit with room to spare"
    few = f" {count} values are few: the figure may move much." if count < _FEW else ""
    return f"{verdict}: {share} of values would lie outside.{few}"
