"""Recurrence rules of RFC 5545 in local wall time, found without walking from their start.

The expansion itself is python-dateutil's; the start is moved close to the period asked for.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from dateutil.rrule import DAILY, HOURLY, MINUTELY, MONTHLY, WEEKLY, YEARLY, rrule, weekday

FREQUENCIES: dict[str, Literal[0, 1, 2, 3, 4, 5, 6]] = {
    "YEARLY": YEARLY,
    "MONTHLY": MONTHLY,
    "WEEKLY": WEEKLY,
    "DAILY": DAILY,
    "HOURLY": HOURLY,
    "MINUTELY": MINUTELY,
}

# The Gregorian calendar, weekdays included, repeats after 400 years.
_CALENDAR_CYCLE_YEARS = 400

_FIXED_STEP = {
    "WEEKLY": timedelta(weeks=1),
    "DAILY": timedelta(days=1),
    "HOURLY": timedelta(hours=1),
    "MINUTELY": timedelta(minutes=1),
}


@dataclass(frozen=True, slots=True)
class Weekday:
    """index: Monday 0 … Sunday 6. nth: 1 first, -1 last of the month or year; 0 every one."""

    index: int
    nth: int = 0


@dataclass(frozen=True, slots=True)
class Recurrence:
    """A checked rule. What RFC 5545 takes from DTSTART when a part is absent is written out in the parts.

    first: naive local start of the rule (RFC 5545's DTSTART; it is due itself only when the rule says so).
    parts: name of a BYxxx part (without BYDAY) -> values, ascending.
    count: COUNT as written, for describing; last_local says where it ends.
    last_local: naive local time of the last occurrence allowed, inclusive. last_instant: the same as an aware UTC
    time (UNTIL with a Z). None: no such end.
    """

    frequency: str
    interval: int
    first: datetime
    parts: dict[str, tuple[int, ...]]
    weekdays: tuple[Weekday, ...] = ()
    week_start: int = 0
    count: int | None = None
    last_local: datetime | None = None
    last_instant: datetime | None = None

    @property
    def is_within_the_day(self) -> bool:
        """Whether the rule counts hours or minutes rather than naming times of the day."""
        return self.frequency in ("HOURLY", "MINUTELY")

    def between(self, earliest: datetime, latest: datetime) -> list[datetime]:
        """Naive local occurrences from earliest to latest, both inclusive, ascending.

        last_instant is left to the caller, who knows the time zone.
        """
        if self.last_local is not None:
            latest = min(latest, self.last_local)
        earliest = max(earliest, self.first)
        if latest < earliest:
            return []
        return self._expanded_from(self._start_near(earliest)).between(earliest, latest, inc=True)

    def _expanded_from(self, start: datetime) -> rrule:
        parts = self.parts
        return rrule(
            FREQUENCIES[self.frequency],
            dtstart=start,
            interval=self.interval,
            wkst=self.week_start,
            bysetpos=parts.get("BYSETPOS"),
            bymonth=parts.get("BYMONTH"),
            bymonthday=parts.get("BYMONTHDAY"),
            byyearday=parts.get("BYYEARDAY"),
            byweekno=parts.get("BYWEEKNO"),
            byweekday=[weekday(day.index, day.nth or None) for day in self.weekdays] or None,
            byhour=parts.get("BYHOUR"),
            byminute=parts.get("BYMINUTE"),
            bysecond=parts.get("BYSECOND"),
        )

    def _start_near(self, moment: datetime) -> datetime:
        """A start in step with the rule, at least one whole interval before moment and never before first.

        dateutil walks from its start, so a rule of long ago would cost more every year. One interval is left
        between, so that the period that a moved start cuts lies before all that is asked for.
        """
        if step := _FIXED_STEP.get(self.frequency):
            step *= self.interval
            return self.first + max((moment - self.first) // step - 1, 0) * step
        months_each = self.interval * (12 if self.frequency == "YEARLY" else 1)
        months_apart = (moment.year - self.first.year) * 12 + moment.month - self.first.month
        skipped = (months_apart // months_each - 1) * months_each
        if skipped <= 0:
            return self.first
        months = self.first.year * 12 + self.first.month - 1 + skipped
        if self.frequency == "YEARLY":
            return datetime(months // 12, 1, 1)  # noqa: DTZ001  wall time has no zone
        return datetime(months // 12, months % 12 + 1, 1)  # noqa: DTZ001

    def from_the_first(self) -> Iterator[datetime]:
        """Occurrences of the next 400 years at least, without regard to an end; ends by itself.

        A rule that never falls makes dateutil walk to its last year, 9999. Moved by whole cycles of the calendar
        the walk is the same and short.
        """
        cycles = max((9999 - _CALENDAR_CYCLE_YEARS - self.first.year) // _CALENDAR_CYCLE_YEARS, 0)
        moved = cycles * _CALENDAR_CYCLE_YEARS
        late = self._expanded_from(self.first.replace(year=self.first.year + moved))
        return (found.replace(year=found.year - moved) for found in late)
