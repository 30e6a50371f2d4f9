"""From the time on the dairy's wall to the instant it names, across changes of the clock."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from haccp.science.errors import InputError


def zone_of(name: str) -> ZoneInfo:
    """The time zone of that name in the tz database. Raises InputError when there is none."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(
            f"“{name}” is not a time zone of the tz database.",
            remedy="Give a name such as Europe/Paris or America/New_York.",
        ) from error


def instant(local: datetime, zone: ZoneInfo) -> datetime:
    """The UTC instant of a naive local time.

    A time that the clock skips moves forward by the length of the gap; a time that the clock shows twice is the
    first of the two (RFC 5545, section 3.3.5, form 3; Python's fold=0 gives both).
    """
    return local.replace(tzinfo=zone, fold=0).astimezone(UTC)


def second_instant(local: datetime, zone: ZoneInfo) -> datetime | None:
    """The later UTC instant of a naive local time that the clock shows twice; None for any other time."""
    later = local.replace(tzinfo=zone, fold=1).astimezone(UTC)
    return later if later > instant(local, zone) else None


def local_time(moment: datetime, zone: ZoneInfo) -> datetime:
    """What the clock on the wall shows at an aware moment, as a naive time."""
    return moment.astimezone(zone).replace(tzinfo=None, fold=0)


def is_shown(local: datetime, zone: ZoneInfo) -> bool:
    """Whether the clock ever shows this naive local time: not within an hour that it skips."""
    return local_time(instant(local, zone), zone) == local
