"""Days and times on the dairy's wall, and chance that depends on the day alone."""

from datetime import UTC, date, datetime, time
from random import Random
from zoneinfo import ZoneInfo

from haccp.config.demo.people import TIME_ZONE

ZONE = ZoneInfo(TIME_ZONE)
MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = range(7)


def at(day: date, hour: int, minute: int = 0) -> datetime:
    """The UTC moment of a local time."""
    return datetime.combine(day, time(hour, minute), tzinfo=ZONE).astimezone(UTC)


def local_day(moment: datetime) -> date:
    return moment.astimezone(ZONE).date()


def local_hour(moment: datetime) -> int:
    return moment.astimezone(ZONE).hour


def chance(*of: object) -> Random:
    """The same throws for the same names and days, whenever the demo is loaded: variation, not security."""
    return Random("|".join(map(str, of)))  # noqa: S311
