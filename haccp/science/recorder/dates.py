"""Days of the calendar from dates whose day and month may stand in either order."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

import numpy as np

from haccp.science.recorder import messages
from haccp.science.recorder.cells import Cells, IntArray
from haccp.science.recorder.stamps import Fields

DateOrder = Literal["dmy", "mdy"]
EPOCH = date(1970, 1, 1)
_YEARS = range(1980, 2101)
_ORDERS: tuple[DateOrder, DateOrder] = ("dmy", "mdy")


@dataclass(frozen=True, slots=True)
class DateHints:
    """What is known beside the file. order: as the user said. expected_day, latest: local days, or None."""

    order: DateOrder | None = None
    expected_day: date | None = None
    latest: date | None = None


def days_since_epoch(
    fields: Fields, cells: Cells, lines: IntArray, hints: DateHints
) -> tuple[IntArray, tuple[str, ...]]:
    """Days since 1970-01-01, shape (n,), and notes on how the order of day and month was decided.

    Raises InputError for a day that does not exist, and where nothing tells day from month.
    """
    starts = _changes(fields)
    runs = _Runs(fields, starts)
    order, notes = _order(runs, hints, cells, lines)
    days: list[int] = []
    for run, row in enumerate(starts):
        day = runs.day(run, order)
        if day is None:
            raise messages.impossible_time(int(lines[row]), cells.text(int(row)))
        days.append((day - EPOCH).days)
    return np.repeat(np.array(days, dtype=np.int64), np.diff(starts, append=len(cells))), notes


def _changes(fields: Fields) -> IntArray:
    """The rows at which the date differs from the row before, row 0 among them."""
    groups = [fields[group] for group in ("year", "month", "day", "first", "second", "last")]
    changed = np.zeros(fields.fraction_us.size, dtype=bool)
    changed[:1] = True
    for values in groups:
        changed[1:] |= values[1:] != values[:-1]
    return np.flatnonzero(changed)


class _Runs:
    """The dates of a file in order, one for each run of rows with the same date."""

    def __init__(self, fields: Fields, starts: IntArray) -> None:
        self.starts = starts
        self.iso = fields["year"][starts] >= 0
        self.dotted = fields.flags["dotted"][starts]
        self.year_first = [fields[group][starts].tolist() for group in ("year", "month", "day")]
        self.year_last = [fields[group][starts].tolist() for group in ("first", "second", "last")]
        self.either = np.flatnonzero(~self.iso & ~self.dotted)

    def day(self, run: int, order: DateOrder) -> date | None:
        if self.iso[run]:
            year, month, day = (values[run] for values in self.year_first)
        else:
            first, second, year = (values[run] for values in self.year_last)
            year += 2000 if year < 100 else 0
            month_first = order == "mdy" and not self.dotted[run]
            month, day = (first, second) if month_first else (second, first)
        try:
            return date(year, month, day) if year in _YEARS else None
        except ValueError:
            return None

    def days(self, order: DateOrder) -> list[date] | None:
        days = [self.day(int(run), order) for run in self.either]
        whole = [day for day in days if day is not None]
        return whole if len(whole) == len(days) else None


def _order(runs: _Runs, hints: DateHints, cells: Cells, lines: IntArray) -> tuple[DateOrder, tuple[str, ...]]:
    if not runs.either.size:
        return "dmy", ()
    if hints.order is not None:
        return hints.order, (messages.note_date_order(hints.order, "as chosen"),)
    readings = {order: days for order in _ORDERS if (days := runs.days(order)) is not None}
    if not readings:
        return "dmy", ()  # no reading works: the line at fault is found when the days are made
    if len(readings) == 1:
        (order,) = readings
        return order, (messages.note_date_order(order, "the other order gives no date of the calendar"),)
    if readings["dmy"] == readings["mdy"]:
        return "dmy", ()
    for why, fits in (
        ("so the days follow each other", _days_follow),
        ("so the recording is of the day of the make", lambda days: _near(days, hints.expected_day)),
        ("the other order lies in the future", lambda days: hints.latest is None or max(days) <= hints.latest),
    ):
        fitting = [order for order, days in readings.items() if fits(days)]
        if len(fitting) == 1:
            return fitting[0], (messages.note_date_order(fitting[0], why),)
    row = int(runs.starts[runs.either[0]])
    raise messages.ambiguous_date(int(lines[row]), cells.text(row))


def _days_follow(days: list[date]) -> bool:
    """True where a recording of several days goes on from one day to the next."""
    steps = [(after - before).days for before, after in pairwise(days)]
    return bool(steps) and all(step == 1 for step in steps)


def _near(days: list[date], expected: date | None) -> bool:
    return expected is not None and min(days) <= expected <= max(days)
