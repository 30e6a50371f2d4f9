"""How often a check is due, typed in words of the trade and stored as a cadence."""

import re
from collections.abc import Mapping
from typing import Any

from django import forms

from haccp.plan.forms.fields import read_duration
from haccp.science.errors import InputError
from haccp.science.schedule import check_cadence, describe
from haccp.science.schedule.words import duration

DAYS = (("MO", "Monday"), ("TU", "Tuesday"), ("WE", "Wednesday"), ("TH", "Thursday"), ("FR", "Friday"),
        ("SA", "Saturday"), ("SU", "Sunday"))  # fmt: skip
# What happens to milk and batches, as the rooms above record it.
EVENTS = (
    ("milk_received", "milk received"),
    ("make_started", "make started"),
    ("starter_added", "starter added"),
    ("rennet_added", "rennet added"),
    ("cut", "curd cut"),
    ("drained", "whey drained"),
    ("moulded", "moulded"),
    ("pressed", "pressed"),
    ("salted", "salted"),
    ("laid_in_brine", "laid in brine"),
    ("placed_in_room", "placed in room"),
    ("left_room", "left room"),
)
USES = {
    "before_first": "before the first use of a day",
    "after_last": "after the last use of a day",
    "every": "at every n-th use",
}  # fmt: skip
_TIME = re.compile(r"^([01]?\d|2[0-3])[:.]([0-5]\d)$")
KEEP = "keep"


def fields(cadence: Mapping[str, Any]) -> dict[str, forms.Field]:
    """The fields of a cadence, filled with the one given; what they cannot say is offered to be kept as it is."""
    kinds = [
        ("days", "by the clock, every day or every few days"),
        ("weekdays", "by the clock, on days of the week"),
        ("months", "by the clock, on a day of the month"),
        ("event", "after something happened to the milk or batch"),
        ("event_daily", "each day between two events of a batch"),
        *((kind, f"of a place or equipment: {words}") for kind, words in USES.items()),
        ("before_release", "once for each batch, before it is released"),
        ("by_hand", "only when somebody asks for it"),
        ("plan_review", "when the review of the plan falls due"),
    ]
    start = initial(cadence)
    if start.get("often") == KEEP:
        kinds.insert(0, (KEEP, f"as it is: {_words(cadence)}"))
    return {
        "often": forms.ChoiceField(label="How often", choices=kinds, initial=start.get("often", "days")),
        "often_every": forms.CharField(
            label="Every … days, weeks, months or uses", required=False, max_length=4,
            initial=start.get("often_every", "1"), widget=forms.TextInput(attrs={"inputmode": "numeric"}),
            help_text="1 for each day, week, month or use. For the clock, each day between two events, and uses.",
        ),
        "often_times": forms.CharField(
            label="At which times", required=False, max_length=200, initial=start.get("often_times", "08:00"),
            help_text="Such as 07:00, 18:00. For the clock, and for each day between two events.",
        ),
        "often_days": forms.MultipleChoiceField(
            label="On which days of the week", required=False, choices=DAYS, initial=start.get("often_days", []),
            widget=forms.CheckboxSelectMultiple,
        ),
        "often_day": forms.CharField(
            label="On which day of the month", required=False, max_length=2, initial=start.get("often_day", "1"),
            widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        ),
        "often_event": forms.ChoiceField(
            label="After which event", required=False, choices=[("", "choose"), *EVENTS],
            initial=start.get("often_event", ""),
        ),
        "often_after": forms.CharField(
            label="How long after it", required=False, max_length=400, initial=start.get("often_after", "0 min"),
            help_text="Such as 0 min, or several: 2 h, 4 h, 6 h. After a use: one.",
        ),
        "often_until": forms.ChoiceField(
            label="Until which event", required=False, choices=[("", "choose"), *EVENTS],
            initial=start.get("often_until", ""),
        ),
    }  # fmt: skip


def _words(cadence: Mapping[str, Any]) -> str:
    try:
        return describe(cadence)
    except InputError:
        return "cannot be read"


def initial(cadence: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields hold for a cadence; {"often": "keep"} for one that they cannot say."""
    match cadence.get("kind"):
        case None:
            return {}
        case "by_hand" | "before_release" | "plan_review" as kind:
            return {"often": kind}
        case "use":
            after = duration(cadence["after_s"]) if cadence["after_s"] else "0 min"
            return {"often": cadence["when"], "often_every": str(cadence["every"]), "often_after": after}
        case "event":
            return {
                "often": "event",
                "often_event": cadence["event"],
                "often_after": ", ".join(duration(offset) for offset in cadence["offsets_s"]),
            }
        case "event_daily":
            return {
                "often": "event_daily",
                "often_event": cadence["event"],
                "often_until": cadence["until_event"],
                "often_times": cadence["at"],
                "often_every": str(cadence["every_days"]),
            }
        case _:
            return _of_rule(str(cadence.get("rrule", "")))


def _of_rule(rule: str) -> dict[str, Any]:
    parts = dict(piece.split("=", 1) for piece in rule.removeprefix("RRULE:").split(";") if "=" in piece)
    kind = {"DAILY": "days", "WEEKLY": "weekdays", "MONTHLY": "months"}.get(parts.pop("FREQ", ""))
    hours, minutes = parts.pop("BYHOUR", ""), parts.pop("BYMINUTE", "")
    found: dict[str, Any] = {"often": kind, "often_every": parts.pop("INTERVAL", "1")}
    parts.pop("BYSECOND", "")
    if kind == "weekdays":
        found["often_days"] = parts.pop("BYDAY", "").split(",")
    if kind == "months":
        found["often_day"] = parts.pop("BYMONTHDAY", "")
    sayable = kind and not parts and hours and minutes and "," not in minutes
    if not sayable or (kind == "months" and not found["often_day"].isdigit()) or found.get("often_days") == [""]:
        return {"often": KEEP}
    found["often_times"] = ", ".join(f"{int(hour):02d}:{int(minutes):02d}" for hour in hours.split(","))
    return found


def read(typed: Mapping[str, Any], *, before: Mapping[str, Any], start: str) -> dict[str, Any]:
    """The cadence that was typed. start: local day from which a new rule counts.

    Raises ValidationError with the field that it concerns as a dictionary.
    """
    often = typed["often"]
    if often == KEEP:
        return dict(before)
    if often in ("by_hand", "before_release", "plan_review"):
        return {"kind": often}
    if often in USES:
        made: dict[str, Any] = _use(typed)
    elif often == "event":
        made = {"kind": "event", "event": _event(typed, "often_event"), "offsets_s": _offsets(typed)}
    elif often == "event_daily":
        made = {
            "kind": "event_daily",
            "event": _event(typed, "often_event"),
            "until_event": _event(typed, "often_until"),
            "at": _times(typed)[0],
            "every_days": _count(typed, "often_every"),
        }
    else:
        made = _clock(typed, before, start)
    try:
        check_cadence(made)
    except InputError as error:
        raise forms.ValidationError({"often": str(error)}) from None
    return made


def _use(typed: Mapping[str, Any]) -> dict[str, Any]:
    when = typed["often"]
    after = _offsets(typed) if when != "before_first" else [0]
    if len(after) > 1:
        raise forms.ValidationError({"often_after": "Give one length of time after the use."})
    every = _count(typed, "often_every", most=10_000) if when == "every" else 1
    return {"kind": "use", "when": when, "every": every, "after_s": after[0]}


def _clock(typed: Mapping[str, Any], before: Mapping[str, Any], start: str) -> dict[str, Any]:
    times = _times(typed)
    minutes = {time[3:] for time in times}
    if len(minutes) > 1:
        raise forms.ValidationError(
            {"often_times": "Give times with the same minutes, such as 07:00, 18:00; make two checks of others."}
        )
    rule = {"days": "FREQ=DAILY", "weekdays": "FREQ=WEEKLY", "months": "FREQ=MONTHLY"}[typed["often"]]
    every = _count(typed, "often_every")
    rule += f";INTERVAL={every}" if every != 1 else ""
    if typed["often"] == "weekdays":
        if not typed["often_days"]:
            raise forms.ValidationError({"often_days": "Choose at least one day of the week."})
        rule += f";BYDAY={','.join(typed['often_days'])}"
    if typed["often"] == "months":
        rule += f";BYMONTHDAY={_count(typed, 'often_day', most=31)}"
    hours = ",".join(str(int(time[:2])) for time in times)
    rule += f";BYHOUR={hours};BYMINUTE={int(minutes.pop())};BYSECOND=0"
    if before.get("kind") == "clock" and before.get("rrule") == rule:
        return dict(before)
    return {"kind": "clock", "rrule": rule, "from": before.get("from", start)}


def _times(typed: Mapping[str, Any]) -> list[str]:
    found = []
    for text in filter(None, re.split(r"[,;\s]+", typed["often_times"])):
        match = _TIME.match(text)
        if match is None:
            raise forms.ValidationError({"often_times": f"“{text}” is no time of day; type it such as 07:00."})
        found.append(f"{int(match[1]):02d}:{match[2]}")
    if not found:
        raise forms.ValidationError({"often_times": "Give at least one time of day, such as 07:00."})
    return sorted(set(found))


def _count(typed: Mapping[str, Any], name: str, most: int = 366) -> int:
    text = typed[name].strip()
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= most):
        raise forms.ValidationError({name: f"Give a whole number from 1 to {most}."})
    return int(text)


def _event(typed: Mapping[str, Any], name: str) -> str:
    if not typed[name]:
        raise forms.ValidationError({name: "Choose an event."})
    return str(typed[name])


def _offsets(typed: Mapping[str, Any]) -> list[int]:
    found: set[int] = set()
    for text in filter(None, (piece.strip() for piece in typed["often_after"].split(","))):
        try:
            found.add(int(read_duration(text)))
        except forms.ValidationError as error:
            raise forms.ValidationError({"often_after": error.messages[0]}) from None
    if not found:
        raise forms.ValidationError({"often_after": "Say how long after the event, such as 0 min or 2 h."})
    return sorted(found)
