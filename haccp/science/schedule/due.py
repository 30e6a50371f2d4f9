"""Slots: the moments at which a check is due, as a pure function of cadence, events and period.

Nothing is remembered between calls. The slots of [a, c) are those of [a, b) and [b, c) for any b, so a sweep every
minute and one sweep after weeks of downtime see the same checks.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.science.errors import InputError
from haccp.science.schedule.cadence import (
    LONGEST_OFFSET_S,
    AfterEvent,
    ByClock,
    ByUse,
    Cadence,
    DailyBetweenEvents,
    read_cadence,
)
from haccp.science.schedule.wall_clock import instant, local_time, second_instant, zone_of

# No clock was ever put on or back by more than a day, so local times this far outside the period suffice.
_MARGIN = timedelta(days=2)

USE = "use"
"""Under this name `slots` is given the times at which a piece of equipment was taken into use."""

_FIRST_YEAR, _LAST_YEAR = 1800, 2500
_YEARS = f"{_FIRST_YEAR} to {_LAST_YEAR}"


@dataclass(frozen=True, slots=True, order=True)
class Slot:
    """One time at which a check is due. All times are aware and in UTC.

    due_at: when it is due. opens_at: from when it can be done. grace_ends_at: after this it is missed.
    key: unique and stable for one cadence and one subject (premises or lot). The local time on the wall for
        clock and daily kinds ("2026-03-01T07:00:00"; for the second pass of a repeated hour with its UTC offset),
        so that a new edition of the tz database does not rename it; "starter_added@2026-03-01T06:00:00Z+7200"
        for the event kind.
    """

    due_at: datetime
    key: str
    opens_at: datetime
    grace_ends_at: datetime


@dataclass(frozen=True, slots=True)
class _Due:
    key: str
    day: date  # local, for closed periods
    at: datetime


def slots(
    cadence: Cadence,
    *,
    time_zone: str,
    window_before_s: float,
    grace_s: float,
    start: datetime,
    end: datetime,
    events: Mapping[str, Sequence[datetime]] | None = None,
    closed: Sequence[tuple[date, date]] = (),
) -> list[Slot]:
    """All slots with start <= due_at < end, by due_at.

    time_zone: name in the tz database; the rule is read in its local wall time.
    window_before_s, grace_s: seconds before and after due_at, elapsed time, zero or more.
    events: event -> aware times at which it happened to the one lot that is asked about; for the use kind, USE ->
        aware times at which the one piece of equipment was taken into use, from the first use on.
    closed: first and last local date of periods in which nothing is due, both inclusive.

    When the clock changes:
    - a local time that is skipped moves forward by the length of the gap (section 3.3.5 of RFC 5545); two times
      that thereby fall on one instant are one check (section 3.8.5.3: duplicate instances are ignored);
    - a local time that comes twice is due the first time (section 3.3.5). Only a rule that counts hours or minutes
      (FREQ=HOURLY or MINUTELY) is due both times: it promises that the hour which comes twice is checked twice.

    A daily check between two events is due from the first event on, and no longer at the moment of the second;
    every n-th day counts from the local date of the first event.

    A use is the last of its local day when no other follows on that day before the grace of its check has ended:
    what was missed by then stays missed, whatever is used later. Uses are counted from the first one given.

    Raises InputError: cadence or time zone not usable, naive times, end before start, years outside 1800 to 2500.
    """
    _check_period(start, end, window_before_s, grace_s, closed)
    plan, zone = read_cadence(cadence), zone_of(time_zone)
    happened = {kind: _in_utc(kind, times) for kind, times in (events or {}).items()}
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    match plan:
        case ByClock():
            found = _by_clock(plan, zone, start, end)
        case AfterEvent():
            found = _after_event(plan, zone, happened.get(plan.event, ()))
        case DailyBetweenEvents():
            found = _daily_between_events(plan, zone, start, end, happened)
        case ByUse():
            found = _by_use(plan, zone, happened.get(USE, ()), grace_s)
        case _:  # before release, with the review, or by hand: never due by a clock
            found = iter(())
    window, grace = timedelta(seconds=window_before_s), timedelta(seconds=grace_s)
    return sorted(
        Slot(key=due.key, opens_at=due.at - window, due_at=due.at, grace_ends_at=due.at + grace)
        for due in found
        if start <= due.at < end and not any(first <= due.day <= last for first, last in closed)
    )


def _by_clock(plan: ByClock, zone: ZoneInfo, start: datetime, end: datetime) -> Iterator[_Due]:
    rule = plan.recurrence
    earliest, latest = local_time(start, zone) - _MARGIN, local_time(end, zone) + _MARGIN
    found = _once_each(rule.between(earliest, latest), zone, both_passes=rule.is_within_the_day)
    last = rule.last_instant
    return (due for due in found if last is None or due.at <= last)


def _once_each(local_times: Iterable[datetime], zone: ZoneInfo, *, both_passes: bool = False) -> Iterable[_Due]:
    """One check for each instant that the local times, ascending, name."""
    by_instant: dict[datetime, _Due] = {}
    for local in local_times:
        # A time that was skipped gives way to the later one that the clock shows at that instant.
        at = instant(local, zone)
        by_instant[at] = _Due(local.isoformat(), local.date(), at)
        if both_passes and (later := second_instant(local, zone)) is not None:
            by_instant[later] = _Due(local.replace(tzinfo=zone, fold=1).isoformat(), local.date(), later)
    return by_instant.values()


def _after_event(plan: AfterEvent, zone: ZoneInfo, happened: Iterable[datetime]) -> Iterator[_Due]:
    for moment in happened:
        name = f"{plan.event}@{moment.replace(tzinfo=None).isoformat()}Z"
        for offset_s in plan.offsets_s:
            at = moment + timedelta(seconds=offset_s)
            yield _Due(f"{name}+{offset_s}", local_time(at, zone).date(), at)


def _by_use(plan: ByUse, zone: ZoneInfo, uses: Sequence[datetime], grace_s: float) -> Iterator[_Due]:
    after, grace = timedelta(seconds=plan.after_s), timedelta(seconds=grace_s)
    days = [local_time(moment, zone).date() for moment in uses]
    for number, moment in enumerate(uses):
        is_first = number == 0 or days[number - 1] != days[number]
        is_followed = (
            number + 1 < len(uses) and days[number + 1] == days[number] and uses[number + 1] <= moment + after + grace
        )
        chosen = {
            "before_first": is_first,
            "after_last": not is_followed,
            "every": (number + 1) % plan.every == 0,
        }
        if chosen[plan.when]:
            at = moment + after
            key = f"{plan.when}@{moment.replace(tzinfo=None).isoformat()}Z"
            yield _Due(key, local_time(at, zone).date(), at)


def _daily_between_events(
    plan: DailyBetweenEvents,
    zone: ZoneInfo,
    start: datetime,
    end: datetime,
    happened: Mapping[str, Sequence[datetime]],
) -> Iterator[_Due]:
    for entered, left in _stays(happened.get(plan.event, ()), happened.get(plan.until_event, ())):
        since, until = max(entered, start), min(left or end, end)
        day_entered = local_time(entered, zone).date()
        days_before = max(((local_time(since, zone) - _MARGIN).date() - day_entered).days, 0)
        day = day_entered + timedelta(days=-(-days_before // plan.every_days) * plan.every_days)
        last_day = (local_time(until, zone) + _MARGIN).date()
        days = range(0, (last_day - day).days + 1, plan.every_days)
        for due in _once_each((datetime.combine(day + timedelta(days=n), plan.at) for n in days), zone):
            if since <= due.at < until:
                yield due


def _stays(entered: Sequence[datetime], left: Sequence[datetime]) -> Iterator[tuple[datetime, datetime | None]]:
    """Pairs of entry and the next leaving, None while the lot is still there.

    An entry during a stay (a move recorded without a leaving) goes on with that stay. A leaving at the very moment
    of an entry belongs to the stay before it.
    """
    until: datetime | None = None
    for number, moment in enumerate(entered):
        if number and (until is None or moment < until):
            continue
        until = next((leaving for leaving in left if leaving > moment), None)
        yield moment, until


def _in_utc(kind: str, times: Sequence[datetime]) -> list[datetime]:
    if any(moment.tzinfo is None for moment in times):
        raise InputError(f"A time of the event “{kind}” has no time zone.", remedy="Give aware times.")
    if any(not _FIRST_YEAR <= moment.year <= _LAST_YEAR for moment in times):
        raise InputError(f"A time of the event “{kind}” is not in the years {_YEARS}.", remedy="Correct the year.")
    return sorted({moment.astimezone(UTC) for moment in times})


def _check_period(
    start: datetime, end: datetime, window_before_s: float, grace_s: float, closed: Sequence[tuple[date, date]]
) -> None:
    if start.tzinfo is None or end.tzinfo is None:
        raise InputError("The period has a start or an end without a time zone.", remedy="Give aware times.")
    if end < start:
        raise InputError("The period ends before it starts.", remedy="Exchange start and end.")
    if start.year < _FIRST_YEAR or end.year > _LAST_YEAR:
        raise InputError(f"The period leaves the years {_YEARS}.", remedy="Ask for a shorter period.")
    if not (0 <= window_before_s <= LONGEST_OFFSET_S and 0 <= grace_s <= LONGEST_OFFSET_S):
        raise InputError(
            "The time before or after a check is due is negative or longer than ten years.",
            remedy="Give zero or more seconds for both.",
        )
    for first, last in closed:
        if last < first:
            raise InputError(
                f"The closed period from {first} to {last} ends before it starts.", remedy="Exchange the two dates."
            )
