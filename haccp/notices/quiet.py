"""When a person may be told: their quiet hours, in the time of the dairy."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def told_at(moment: datetime, *, quiet_from: time | None, quiet_until: time | None, zone: ZoneInfo) -> datetime:
    """The moment itself, or the end of the quiet hours that it lies in.

    Quiet hours may go over midnight; none when either end is missing or both are the same. An end that the clock
    skips is the moment to which the clock jumps.
    """
    if quiet_from is None or quiet_until is None or quiet_from == quiet_until:
        return moment
    local = moment.astimezone(zone)
    clock = local.time().replace(tzinfo=None)
    over_midnight = quiet_from > quiet_until
    is_quiet = clock >= quiet_from or clock < quiet_until if over_midnight else quiet_from <= clock < quiet_until
    if not is_quiet:
        return moment
    day = local.date() + timedelta(days=1) if over_midnight and clock >= quiet_from else local.date()
    return max(_local(day, quiet_until, zone), moment)


def next_at(after: datetime, clock: time, zone: ZoneInfo) -> datetime:
    """The next moment after `after` at which the clock on the wall shows this time."""
    day = after.astimezone(zone).date()
    for ahead in range(3):
        found = _local(day + timedelta(days=ahead), clock, zone)
        if found > after:
            return found
    raise AssertionError("a clock shows every time within two days")


def _local(day: date, clock: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)
