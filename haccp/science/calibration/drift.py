"""How an instrument drifts between calibrations, and when it will be out if it goes on so."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from haccp.science.errors import InputError

_YEAR_S = 365.25 * 86400


@dataclass(frozen=True, slots=True)
class Check:
    """error_found, error_left: of the instrument at one point before and after adjustment, SI."""

    at: datetime
    error_found: float
    error_left: float


@dataclass(frozen=True, slots=True)
class Drift:
    """per_year: change of the error per year of use, SI. out_at: when the error of the last check would pass the
    tolerance at that pace; None when it does not move towards either side of it.
    """

    per_year: float
    out_at: datetime | None


def drift(checks: Sequence[Check], tolerance: float) -> Drift | None:
    """The pace over all spans between checks, each from as left to as found: Σ change / Σ time.

    None with fewer than two checks. InputError for checks that are not in order of time.
    """
    if len(checks) < 2:
        return None
    moved, passed_s = 0.0, 0.0
    for before, after in pairwise(checks):
        span_s = (after.at - before.at).total_seconds()
        if span_s <= 0:
            raise InputError("The checks are not in order of time.", remedy="Give them from the oldest to the newest.")
        moved += after.error_found - before.error_left
        passed_s += span_s
    pace = moved / passed_s
    last = checks[-1]
    if pace == 0 or abs(last.error_left) > tolerance:
        return Drift(pace * _YEAR_S, None if pace == 0 else last.at)
    left = (tolerance if pace > 0 else -tolerance) - last.error_left
    seconds = left / pace
    # A pace too slow to matter within a century has no date
    return Drift(pace * _YEAR_S, last.at + timedelta(seconds=seconds) if seconds < 100 * _YEAR_S else None)
