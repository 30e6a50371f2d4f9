"""Working days: when a review falls due that the law counts without weekends and holidays."""

from collections.abc import Collection
from datetime import date, timedelta

import numpy as np

from haccp.science.errors import InputError

SATURDAY, SUNDAY = 5, 6

# 21 CFR 117.165(a)(4), from memory: monitoring and corrective-action records are reviewed within 7 working days
# after they are created, or within a reasonable time that a written justification gives.
REVIEW_WITHIN_WORKING_DAYS = 7


def working_day_after(
    day: date, count: int, *, holidays: Collection[date] = (), weekend: Collection[int] = (SATURDAY, SUNDAY)
) -> date:
    """The count-th working day after a date; the date itself is not counted, working day or not.

    count: 1 or more. holidays: dates without work, those on a weekend do no harm.
    weekend: days of the week without work, Monday 0 … Sunday 6, as date.weekday() has them.

    Raises InputError: count below 1, a weekend of seven days or of days that do not exist.
    """
    if count < 1:
        raise InputError(f"{count} is not a number of working days.", remedy="Give 1 or more.")
    if not set(weekend) <= set(range(7)):
        raise InputError("The weekend names a day that is not in the week.", remedy="Use 0 (Monday) to 6 (Sunday).")
    if len(set(weekend)) == 7:
        raise InputError("Every day is a weekend day, so no working day comes.", remedy="Leave one working day.")
    weekmask = [number not in weekend for number in range(7)]
    free = np.array(sorted(holidays), dtype="datetime64[D]")
    # Rolled back to the last working day, a weekend counts from the Friday before it: Saturday + 1 is Monday.
    found = np.busday_offset(np.datetime64(day, "D"), count, roll="backward", weekmask=weekmask, holidays=free)
    return date.fromisoformat(str(found))


def oldest_in_time(
    today: date, count: int, *, holidays: Collection[date] = (), weekend: Collection[int] = (SATURDAY, SUNDAY)
) -> date:
    """The earliest date whose count-th working day has not passed on a day; what is older is overdue.

    Parameters and errors as working_day_after.
    """
    day = today
    while working_day_after(day - timedelta(days=1), count, holidays=holidays, weekend=weekend) >= today:
        day -= timedelta(days=1)
    return day


def review_due_on(
    created_on: date, *, holidays: Collection[date] = (), weekend: Collection[int] = (SATURDAY, SUNDAY)
) -> date:
    """The last date on which the review of a record created on a local date is in time, 21 CFR 117.165(a)(4)."""
    return working_day_after(created_on, REVIEW_WITHIN_WORKING_DAYS, holidays=holidays, weekend=weekend)
