"""How far apart the times of a cadence lie."""

import itertools
from datetime import timedelta
from functools import lru_cache

from haccp.science.schedule.cadence import (
    AfterEvent,
    BeforeRelease,
    ByClock,
    ByUse,
    Cadence,
    DailyBetweenEvents,
    read_cadence,
)
from haccp.science.schedule.rule_text import read_recurrence

# The shortest window in which the rule falls twice tells its rhythm; a rule that is not due twice in five years is
# as good as never due.
_WINDOWS = (timedelta(days=35), timedelta(days=400), timedelta(days=5 * 366))


def longest_interval_days(cadence: Cadence) -> float | None:
    """The longest time without a check, in days; None for one that is never due by itself.

    0 for a check of every lot, or by use.

    Raises InputError for a cadence that cannot be used.
    """
    match read_cadence(cadence):
        case ByClock():
            return _of_rule(str(cadence["rrule"]), str(cadence["from"]))
        case AfterEvent() | ByUse() | BeforeRelease():
            return 0.0
        case DailyBetweenEvents(every_days=days):
            return float(days)
        case _:
            return None


@lru_cache(maxsize=1024)
def _of_rule(rule: str, first: str) -> float | None:
    recurrence = read_recurrence(rule, first)
    for window in _WINDOWS:
        times = recurrence.between(recurrence.first, recurrence.first + window)
        if len(times) > 1:
            return max((after - before) / timedelta(days=1) for before, after in itertools.pairwise(times))
    return None
