"""What goes wrong in the four weeks, and on which day: a slow make, a check forgotten, a loose plug, a broken cover.

Days follow from today's date and from the weekdays on which each cheese is made.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from haccp.checks.models import DueCheck
from haccp.config.demo.local_days import FRIDAY, MONDAY, SATURDAY, THURSDAY, TUESDAY, WEDNESDAY, local_day, local_hour
from haccp.config.demo.plan import names

MAKING_DAYS = {"RE": (MONDAY, THURSDAY), "LC": (TUESDAY, FRIDAY), "AS": (WEDNESDAY, SATURDAY)}


def made_on(day: date) -> str | None:
    """Code of the cheese of that day; None on Sundays."""
    return next((code for code, days in MAKING_DAYS.items() if day.weekday() in days), None)


@dataclass(frozen=True, slots=True)
class Incidents:
    """slow_make: the hard cheese turns sour too slowly. forgotten_ph: the last pH of a washed-rind make is not read.
    loose_plug: the recorder loses a minute of a thermisation. broken_cover: of a lamp in the make room."""

    slow_make: date
    broken_cover: date
    forgotten_ph: date
    loose_plug: date
    second_revision: date
    missed: frozenset[tuple[str, date, int]]  # check, local day, local hour
    entered_next_morning: frozenset[date]  # closing rounds
    mistyped_milk: date
    recalled_make: date  # of the soft cheese: sold, and then recalled as an exercise

    def is_missed(self, due: DueCheck) -> bool:
        day, hour = local_day(due.due_at), local_hour(due.due_at)
        if due.check_due.name == names.PH_WASHED and due.lot is not None:
            begun = local_day(due.lot.begun_at)
            return begun == self.forgotten_ph and due.due_at == max(
                due.lot.due_checks.filter(check_due=due.check_due).values_list("due_at", flat=True)
            )
        return (due.check_due.name, day, hour) in self.missed


def plan_incidents(today: date) -> Incidents:
    slow_make = _first_making("RE", today - timedelta(days=20))
    return Incidents(
        slow_make=slow_make,
        broken_cover=today - timedelta(days=16),
        forgotten_ph=_first_making("AS", today - timedelta(days=9)),
        loose_plug=_last_making("AS", today - timedelta(days=1)),
        second_revision=slow_make + timedelta(days=7),
        missed=frozenset({(names.CAVE, today - timedelta(days=10), 19), (names.WATER, today - timedelta(days=18), 10)}),
        entered_next_morning=frozenset(today - timedelta(days=ago) for ago in (23, 11, 6)),
        mistyped_milk=today - timedelta(days=5),
        recalled_make=_last_making("LC", today - timedelta(days=21)),
    )


def _first_making(code: str, not_before: date) -> date:
    return next(day for day in (not_before + timedelta(days=n) for n in range(7)) if made_on(day) == code)


def _last_making(code: str, not_after: date) -> date:
    return next(day for day in (not_after - timedelta(days=n) for n in range(7)) if made_on(day) == code)
