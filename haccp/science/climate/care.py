"""Days of neglect: when care that a cheese needs (turning, washing, brushing) was due and was not given."""

from collections.abc import Iterable
from datetime import date, timedelta

from haccp.science.errors import InputError


def neglected_days(done_on: Iterable[date], every_days: int, *, since: date, until: date) -> list[date]:
    """Every day from since to until, both included, on which care was overdue.

    Care is due every_days days after it was last given, and first so many days after since (the day the cheese came);
    the day on which it is due is not yet neglect. Care given earlier than since does not count.
    InputError for an interval of less than a day.
    """
    if every_days < 1:
        raise InputError("Care is given every day at most.", remedy="Give an interval of one day or more.")
    given = {day for day in done_on if since <= day <= until}
    overdue, last = [], since
    for i in range((until - since).days + 1):
        day = since + timedelta(days=i)
        if day in given:
            last = day
        elif day > last + timedelta(days=every_days):
            overdue.append(day)
    return overdue


def days_without_a_visit(seen_on: Iterable[date], *, since: date, until: date) -> list[date]:
    """Every day from since to until, both included, on which nothing at all was recorded."""
    seen = set(seen_on)
    days = (since + timedelta(days=i) for i in range((until - since).days + 1))
    return [day for day in days if day not in seen]
