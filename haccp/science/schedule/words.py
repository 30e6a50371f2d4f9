"""A cadence in words that a cheesemaker reads at a glance."""

from collections.abc import Sequence

from haccp.science.schedule.cadence import (
    AfterEvent,
    BeforeRelease,
    ByClock,
    ByHand,
    ByUse,
    Cadence,
    DailyBetweenEvents,
    WithReview,
    read_cadence,
)
from haccp.science.schedule.recurrence import Recurrence, Weekday

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_UNITS = {
    "YEARLY": "year",
    "MONTHLY": "month",
    "WEEKLY": "week",
    "DAILY": "day",
    "HOURLY": "hour",
    "MINUTELY": "minute",
}
_ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth"}


def describe(cadence: Cadence, *, window_before_s: float = 0, grace_s: float = 0) -> str:
    """For example "every day at 07:00 and 18:00" or "2 h, 4 h and 6 h after starter added".

    With the seconds before and after, a single check that is open from its event on reads "once for each batch,
    within 30 min of drained". Raises InputError for a cadence that cannot be used.
    """
    match read_cadence(cadence):
        case ByClock(rule):
            return _by_rule(rule)
        case AfterEvent() as plan:
            return _after_event(plan, window_before_s, grace_s)
        case DailyBetweenEvents(event, until_event, at, every_days):
            return f"every {_counted(every_days, 'day')} at {at:%H:%M} from {_event(event)} until {_event(until_event)}"
        case ByUse() as plan:
            return _by_use(plan)
        case BeforeRelease():
            return "once for each batch, before it is released"
        case ByHand():
            return "when someone asks for it"
        case WithReview():
            return "when the review of the plan falls due"


def duration(seconds: float) -> str:
    """Whole days, hours, minutes and seconds: "1 day 2 h", "90 days", "1 h 30 min"."""
    rest, words = round(seconds), []
    for size, unit in ((86_400, "day"), (3_600, "h"), (60, "min"), (1, "s")):
        count, rest = divmod(rest, size)
        if count:
            words.append(f"{count} {unit}{'s' if unit == 'day' and count > 1 else ''}")
    return " ".join(words) or "0 s"


def _after_event(plan: AfterEvent, window_before_s: float, grace_s: float) -> str:
    event, first = _event(plan.event), plan.offsets_s[0]
    if len(plan.offsets_s) == 1 and window_before_s >= first and (first or grace_s):
        return f"once for each batch, within {duration(first or grace_s)} of {event}"
    if plan.offsets_s == (0,):
        return f"once for each batch, at {event}"
    after = f"{_listed([duration(offset) for offset in plan.offsets_s if offset])} after {event}"
    return after if first else f"at {event} and {after}"


def _by_use(plan: ByUse) -> str:
    after = f", {duration(plan.after_s)} after it" if plan.after_s else ""
    match plan.when:
        case "before_first":
            return "before the first use of each day"
        case "after_last":
            return f"after the last use of each day{f', within {duration(plan.after_s)}' if plan.after_s else ''}"
        case _:
            return f"at every {_counted(plan.every, 'use')}{after}"


def _by_rule(rule: Recurrence) -> str:
    parts = [_every(rule), *_days(rule), *_times(rule), *_position(rule), *_end(rule)]
    return " ".join(parts)


def _every(rule: Recurrence) -> str:
    plain_days = _named_days(rule.weekdays) if not any(day.nth for day in rule.weekdays) else ""
    if plain_days and rule.interval == 1 and rule.frequency in ("DAILY", "WEEKLY"):
        return f"every {plain_days}"
    unit = _UNITS[rule.frequency]
    if rule.is_within_the_day and rule.interval > 1:
        return f"every {duration(rule.interval * {'HOURLY': 3_600, 'MINUTELY': 60}[rule.frequency])}"
    return f"every {_counted(rule.interval, unit)}"


def _days(rule: Recurrence) -> list[str]:
    parts, words = rule.parts, []
    if months := parts.get("BYMONTH"):
        words.append(f"in {_listed([_MONTHS[month - 1] for month in months])}")
    if weeks := parts.get("BYWEEKNO"):
        words.append(f"in week {_listed([str(week) for week in weeks])}")
    if days := parts.get("BYYEARDAY"):
        words.append(f"on the {_listed([_numbered(day) for day in days])} day of the year")
    if days := parts.get("BYMONTHDAY"):
        words.append(_days_of_the_month(days, is_plain=rule.frequency == "MONTHLY" or bool(months)))
    if rule.weekdays and not (rule.interval == 1 and rule.frequency in ("DAILY", "WEEKLY")):
        words.append(f"on {_named_days(rule.weekdays)}")
    return words


def _days_of_the_month(days: Sequence[int], *, is_plain: bool) -> str:
    in_order = sorted(days, key=lambda day: (day < 0, day))
    words = f"on the {_listed([_numbered(day) for day in in_order])}{' day' if in_order[-1] < 0 else ''}"
    return words if is_plain else f"{words} of the month"


def _times(rule: Recurrence) -> list[str]:
    hours, minutes = rule.parts.get("BYHOUR"), rule.parts.get("BYMINUTE")
    second = rule.parts["BYSECOND"][0]
    tail = f":{second:02d}" if second else ""
    if hours and minutes:
        return [f"at {_listed([f'{hour:02d}:{minute:02d}{tail}' for hour in hours for minute in minutes])}"]
    words = []
    if hours:
        words.append(f"in the {'hour' if len(hours) == 1 else 'hours'} of {_listed([f'{h:02d}' for h in hours])}")
    if minutes and minutes != (0,):
        words.append(f"at {_listed([str(minute) for minute in minutes])} min past the hour")
    return words


def _position(rule: Recurrence) -> list[str]:
    places = rule.parts.get("BYSETPOS")
    return [f"(only the {_listed([_ranked(place) for place in places])} of these)"] if places else []


def _end(rule: Recurrence) -> list[str]:
    if rule.count is not None:
        return ["once" if rule.count == 1 else f"for {rule.count} times"]
    last = rule.last_instant or rule.last_local
    if last is None:
        return []
    if rule.last_instant:
        return [f"until {last:%Y-%m-%d %H:%M} UTC"]
    return [f"until {last:%Y-%m-%d}" if last.microsecond else f"until {last:%Y-%m-%d %H:%M}"]


def _named_days(weekdays: Sequence[Weekday]) -> str:
    return _listed([f"the {_ranked(day.nth)} {_DAYS[day.index]}" if day.nth else _DAYS[day.index] for day in weekdays])


def _counted(number: int, unit: str) -> str:
    return unit if number == 1 else f"{_ranked(number)} {unit}"


def _ranked(number: int) -> str:
    """Small numbers in letters: "first", "last", "second to last", "20th"."""
    if number < 0:
        return "last" if number == -1 else f"{_ranked(-number)} to last"
    return _ORDINALS.get(number) or _numbered(number)


def _numbered(number: int) -> str:
    """In figures: "1st", "last", "2nd to last"."""
    if number < 0:
        return "last" if number == -1 else f"{_numbered(-number)} to last"
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _listed(words: Sequence[str]) -> str:
    return "".join(words) if len(words) < 2 else f"{', '.join(words[:-1])} and {words[-1]}"


def _event(name: str) -> str:
    return name.replace("_", " ")
