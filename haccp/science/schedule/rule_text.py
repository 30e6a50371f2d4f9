"""A recurrence rule as text, read and checked before it is used.

Beyond the grammar of RFC 5545: the restrictions of section 3.3.10 that python-dateutil lets pass, sentences for
what is wrong, what the rule takes from its start written out, and refusal of rules that never fall.
"""

import re
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import islice

from haccp.science.errors import InputError
from haccp.science.schedule.recurrence import FREQUENCIES, Recurrence, Weekday

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
MOST_TIMES = 10_000
LARGEST_INTERVAL = 1_000

# name of the part -> (lowest, highest, whether negative values count from the end); RFC 5545, section 3.3.10.
# Second 60 is allowed there for leap seconds, which no wall clock of a dairy shows.
_RANGES = {
    "BYSECOND": (0, 59, False),
    "BYMINUTE": (0, 59, False),
    "BYHOUR": (0, 23, False),
    "BYMONTHDAY": (1, 31, True),
    "BYYEARDAY": (1, 366, True),
    "BYWEEKNO": (1, 53, True),
    "BYMONTH": (1, 12, False),
    "BYSETPOS": (1, 366, True),
}
_NAMES = frozenset({"FREQ", "UNTIL", "COUNT", "INTERVAL", "BYDAY", "WKST", *_RANGES})
_DAY_PARTS = ("BYDAY", "BYMONTHDAY", "BYYEARDAY", "BYWEEKNO")


@lru_cache(maxsize=512)
def read_recurrence(text: str, first: str) -> Recurrence:
    """A rule such as "FREQ=DAILY;BYHOUR=7,18;BYMINUTE=0;BYSECOND=0" that starts on a local date or date-time
    ("2026-01-01", "2026-01-01T09:00:00").

    Raises InputError: not a rule of RFC 5545, a combination that section 3.3.10 forbids, more often than once a
    minute, or a rule that never falls.
    """
    fields = _fields(text)
    numbers = {name: _numbers(name, fields[name]) for name in _RANGES if name in fields}
    rule = Recurrence(
        frequency=_frequency(fields),
        interval=_whole_number("INTERVAL", fields.get("INTERVAL", "1"), LARGEST_INTERVAL),
        first=_start(first),
        parts=numbers,
        weekdays=_weekdays(fields.get("BYDAY")),
        week_start=_week_start(fields.get("WKST", "MO")),
        count=_whole_number("COUNT", fields["COUNT"], MOST_TIMES) if "COUNT" in fields else None,
    )
    _refuse_forbidden(rule, fields)
    rule = _with_end(_with_parts_of_the_start(rule), fields.get("UNTIL"))
    _refuse_if_it_never_falls(rule)
    return rule


def _fields(text: str) -> dict[str, str]:
    fields: dict[str, str] = {}
    for item in text.strip().upper().removeprefix("RRULE:").split(";"):
        name, equals, value = (piece.strip() for piece in item.partition("="))
        if not equals or not value:
            raise InputError(
                f"The rule has “{item}” where a name, an equals sign and a value belong.",
                remedy="Write it as in FREQ=DAILY;BYHOUR=7;BYMINUTE=0.",
            )
        if name not in _NAMES:
            raise InputError(
                f"The rule has the part “{name}”, which RFC 5545 does not know.",
                remedy=f"Its parts are {', '.join(sorted(_NAMES))}.",
            )
        if name in fields:
            raise InputError(f"The rule gives {name} twice.", remedy="Put all its values into one part.")
        fields[name] = value
    return fields


def _frequency(fields: dict[str, str]) -> str:
    frequency = fields.get("FREQ")
    if frequency is None:
        raise InputError("The rule does not say how often: FREQ is missing.", remedy="Begin it with FREQ=DAILY.")
    if frequency not in FREQUENCIES:
        raise InputError(
            f"FREQ={frequency} cannot be used for checks.", remedy=f"Choose one of {', '.join(FREQUENCIES)}."
        )
    return frequency


def _whole_number(name: str, text: str, highest: int) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text) or not 1 <= int(text) <= highest:
        raise InputError(f"{name}={text} is not a whole number from 1 to {highest}.", remedy=f"Correct {name}.")
    return int(text)


def _numbers(name: str, text: str) -> tuple[int, ...]:
    lowest, highest, from_the_end = _RANGES[name]
    found = set()
    for item in text.split(","):
        number = int(item) if re.fullmatch(r"[+-]?[0-9]{1,3}", item) else None
        size = abs(number) if number is not None and from_the_end else number
        if number is None or size is None or not lowest <= size <= highest:
            also = f", or -{highest} to -{lowest} counted from the end" if from_the_end else ""
            raise InputError(
                f"{name} has “{item}”, which is not a whole number from {lowest} to {highest}{also}.",
                remedy=f"Correct {name}.",
            )
        found.add(number)
    return tuple(sorted(found))


def _weekdays(text: str | None) -> tuple[Weekday, ...]:
    found = set()
    for item in text.split(",") if text is not None else ():
        match = re.fullmatch(r"([+-]?[0-9]{1,2})?(MO|TU|WE|TH|FR|SA|SU)", item)
        nth = int(match[1]) if match and match[1] else 0
        if match is None or (match[1] and not 1 <= abs(nth) <= 53):
            raise InputError(
                f"BYDAY has “{item}”, which is not a day of the week.",
                remedy="Write MO, TU, WE, TH, FR, SA or SU; 1MO is the first Monday, -1FR the last Friday.",
            )
        found.add(Weekday(WEEKDAYS.index(match[2]), nth))
    return tuple(sorted(found, key=lambda day: (day.nth, day.index)))


def _week_start(text: str) -> int:
    if text not in WEEKDAYS:
        raise InputError(f"WKST={text} is not a day of the week.", remedy=f"Choose one of {', '.join(WEEKDAYS)}.")
    return WEEKDAYS.index(text)


def _start(text: str) -> datetime:
    try:
        start = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"“{text}” is not a date.", remedy="Write the start as in 2026-01-31.") from error
    if start.tzinfo is not None:
        raise InputError(
            f"The start “{text}” has a time zone.", remedy="Give the local time alone; the premises have the zone."
        )
    if not 1800 <= start.year <= 2500:
        raise InputError(f"The start “{text}” is not in the years 1800 to 2500.", remedy="Correct the year.")
    return start.replace(microsecond=0)


def _refuse_forbidden(rule: Recurrence, fields: dict[str, str]) -> None:
    """The combinations that RFC 5545, section 3.3.10, says MUST NOT be used, and those of no use to a check."""
    frequency = rule.frequency
    counted = any(day.nth for day in rule.weekdays)
    forbidden = [
        ("BYWEEKNO" in fields and frequency != "YEARLY", "BYWEEKNO goes with FREQ=YEARLY only."),
        (
            "BYYEARDAY" in fields and frequency in ("DAILY", "WEEKLY", "MONTHLY"),
            f"BYYEARDAY does not go with FREQ={frequency}.",
        ),
        ("BYMONTHDAY" in fields and frequency == "WEEKLY", "BYMONTHDAY does not go with FREQ=WEEKLY."),
        (
            counted and frequency not in ("MONTHLY", "YEARLY"),
            "A counted day such as 1MO goes with FREQ=MONTHLY or YEARLY only.",
        ),
        (counted and "BYWEEKNO" in fields, "A counted day such as 1MO does not go with BYWEEKNO."),
        (
            "BYSETPOS" in fields and not any(name.startswith("BY") and name != "BYSETPOS" for name in fields),
            "BYSETPOS needs another BY part to choose from.",
        ),
        ("COUNT" in fields and "UNTIL" in fields, "COUNT and UNTIL are both given."),
        (
            len(rule.parts.get("BYSECOND", ())) > 1,
            "The rule is due more often than once a minute, and no person can check that often.",
        ),
    ]
    for applies, problem in forbidden:
        if applies:
            raise InputError(problem, remedy="Remove one of the two." if "both" in problem else "Change the rule.")


def _with_parts_of_the_start(rule: Recurrence) -> Recurrence:
    """Write out what section 3.3.10 takes from DTSTART, so that the rule can be expanded from any start."""
    parts, weekdays, first = dict(rule.parts), rule.weekdays, rule.first
    if not weekdays and not any(name in parts for name in _DAY_PARTS):
        if rule.frequency == "YEARLY":
            parts.setdefault("BYMONTH", (first.month,))
        if rule.frequency in ("YEARLY", "MONTHLY"):
            parts["BYMONTHDAY"] = (first.day,)
        if rule.frequency == "WEEKLY":
            weekdays = (Weekday(first.weekday()),)
    if not rule.is_within_the_day:
        parts.setdefault("BYHOUR", (first.hour,))
    if rule.frequency != "MINUTELY":
        parts.setdefault("BYMINUTE", (first.minute,))
    parts.setdefault("BYSECOND", (first.second,))
    return replace(rule, parts=parts, weekdays=weekdays)


def _with_end(rule: Recurrence, until: str | None) -> Recurrence:
    if rule.count is not None:
        occurrences = _first_occurrences(rule, rule.count)
        return replace(rule, last_local=occurrences[-1]) if len(occurrences) == rule.count else rule
    if until is None:
        return rule
    match = re.fullmatch(r"(\d{4})(\d\d)(\d\d)(?:T(\d\d)(\d\d)(\d\d)(Z?))?", until)
    try:
        if match is None:
            raise ValueError(until)
        day = date(int(match[1]), int(match[2]), int(match[3]))
        clock = time(int(match[4]), int(match[5]), int(match[6])) if match[4] else time.max
    except ValueError as error:
        raise InputError(
            f"UNTIL={until} is not a date.", remedy="Write 20261231, 20261231T180000 or, in UTC, 20261231T170000Z."
        ) from error
    if match[7]:
        return replace(rule, last_instant=datetime.fromisoformat(f"{day}T{clock}+00:00"))
    return replace(rule, last_local=datetime.combine(day, clock))


def _first_occurrences(rule: Recurrence, count: int) -> list[datetime]:
    try:
        return list(islice(rule.from_the_first(), count))
    except ValueError:  # dateutil's word for an interval that never meets the hours or minutes asked for
        return []


def _refuse_if_it_never_falls(rule: Recurrence) -> None:
    first = next(iter(_first_occurrences(rule, 1)), None)
    if first is None:
        raise InputError(
            "The rule never falls on any day.",
            remedy="Look for a day that no month has, or parts that exclude each other.",
        )
    # A day of grace: the zone is not known here, and an end in UTC may be a day from the local one.
    last = rule.last_instant.replace(tzinfo=None) + timedelta(days=1) if rule.last_instant else rule.last_local
    if last is not None and first > last:
        raise InputError(
            f"The rule ends before its first time, {first:%Y-%m-%d %H:%M}.", remedy="Move UNTIL or the start."
        )
