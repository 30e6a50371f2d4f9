"""A cadence: how often a check is due, as data that a plan revision can freeze.

Seven kinds:
  clock           at times on the wall clock, by a recurrence rule of RFC 5545
  event           at fixed times after something happened to a lot
  event_daily     every day, or every n-th day, while a lot is between two events
  use             by the use of equipment: before the first of a day, after the last of a day, at every n-th
  before_release  once for each batch, any time before it is released
  by_hand         never due by itself
  plan_review     when the review of the plan itself falls due, which the plan's history says and no clock
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from haccp.science.errors import InputError
from haccp.science.schedule.recurrence import Recurrence
from haccp.science.schedule.rule_text import read_recurrence

Cadence = Mapping[str, object]

LONGEST_OFFSET_S = 10 * 366 * 86_400  # ten years: longer than any cheese is aged; common practice, no source

_EVENT = {"type": "string", "pattern": "^[a-z][a-z0-9_]*$", "maxLength": 64}


def _object(**properties: object) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {"kind": {"type": "string"}, **properties},
        "required": ["kind", *properties],
        "additionalProperties": False,
    }


SCHEMAS: dict[str, dict[str, Any]] = {
    "clock": _object(
        **{
            "rrule": {"type": "string", "minLength": 1, "maxLength": 500},
            "from": {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d(T\d\d:\d\d(:\d\d)?)?$"},
        }
    ),
    "event": _object(
        event=_EVENT,
        offsets_s={
            "type": "array",
            "items": {"type": "integer", "minimum": 0, "maximum": LONGEST_OFFSET_S},
            "minItems": 1,
            "maxItems": 500,
            "uniqueItems": True,
        },
    ),
    "event_daily": _object(
        event=_EVENT,
        until_event=_EVENT,
        at={"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$"},
        every_days={"type": "integer", "minimum": 1, "maximum": 366},
    ),
    "use": _object(
        when={"enum": ["before_first", "after_last", "every"]},
        every={"type": "integer", "minimum": 1, "maximum": 10_000},
        after_s={"type": "integer", "minimum": 0, "maximum": 7 * 86_400},
    ),
    "before_release": _object(),
    "by_hand": _object(),
    "plan_review": _object(),
}
"""JSON Schema (draft 2020-12) of each kind."""

_VALIDATORS = {kind: Draft202012Validator(schema) for kind, schema in SCHEMAS.items()}

_EXPECTED = {
    "rrule": "a recurrence rule such as FREQ=DAILY;BYHOUR=7,18;BYMINUTE=0",
    "from": "a local date such as 2026-01-31",
    "event": "the name of an event such as starter_added",
    "until_event": "the name of an event such as left_room",
    "offsets_s": "a list of different whole numbers of seconds from 0 up to ten years, such as 7200, 14400",
    "at": "a time of the day such as 08:00",
    "every_days": "a whole number of days from 1 to 366",
    "when": "one of before_first, after_last, every",
    "every": "a whole number of uses from 1 to 10000 (1 unless when is “every”)",
    "after_s": "a whole number of seconds from 0 up to a week (0 for before_first)",
}


@dataclass(frozen=True, slots=True)
class ByClock:
    recurrence: Recurrence


@dataclass(frozen=True, slots=True)
class AfterEvent:
    """offsets_s: seconds after the event, ascending."""

    event: str
    offsets_s: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DailyBetweenEvents:
    event: str
    until_event: str
    at: time
    every_days: int


@dataclass(frozen=True, slots=True)
class ByUse:
    """when: before_first, after_last or every. every: each so many uses. after_s: seconds from the use on."""

    when: str
    every: int
    after_s: int


@dataclass(frozen=True, slots=True)
class BeforeRelease:
    pass


@dataclass(frozen=True, slots=True)
class ByHand:
    pass


@dataclass(frozen=True, slots=True)
class WithReview:
    pass


Read = ByClock | AfterEvent | DailyBetweenEvents | ByUse | BeforeRelease | ByHand | WithReview


def check_cadence(cadence: Cadence) -> None:
    """Raises InputError, with a sentence that says what is wrong, unless the cadence can be used."""
    read_cadence(cadence)


def read_cadence(cadence: Cadence) -> Read:
    """The cadence, typed. Raises InputError."""
    kind = cadence.get("kind") if isinstance(cadence, Mapping) else None
    if not isinstance(kind, str) or kind not in SCHEMAS:
        given = f"“{kind}” is not a kind of cadence." if kind is not None else "The cadence does not say its kind."
        raise InputError(given, remedy=f"Choose one of {', '.join(SCHEMAS)}.")
    if problem := next(iter(_VALIDATORS[kind].iter_errors(dict(cadence))), None):
        raise _as_sentence(problem, cadence, SCHEMAS[kind])
    match kind:
        case "clock":
            return ByClock(read_recurrence(str(cadence["rrule"]), str(cadence["from"])))
        case "event":
            offsets = cadence["offsets_s"]
            assert isinstance(offsets, list)
            return AfterEvent(str(cadence["event"]), tuple(sorted(int(offset) for offset in offsets)))
        case "event_daily":
            return _daily_between_events(cadence)
        case "plan_review":
            return WithReview()
        case "use":
            return _by_use(cadence)
        case "before_release":
            return BeforeRelease()
        case _:
            return ByHand()


def _daily_between_events(cadence: Cadence) -> DailyBetweenEvents:
    event, until_event, every_days = str(cadence["event"]), str(cadence["until_event"]), cadence["every_days"]
    if event == until_event:
        raise InputError(
            f"The check begins and ends with the same event, “{event}”.", remedy="Choose another until_event."
        )
    assert isinstance(every_days, int | float)  # the schema: a whole number, which JSON may write as 2.0
    return DailyBetweenEvents(event, until_event, time.fromisoformat(str(cadence["at"])), int(every_days))


def _by_use(cadence: Cadence) -> ByUse:
    when, every, after_s = str(cadence["when"]), cadence["every"], cadence["after_s"]
    assert isinstance(every, int | float)  # as above
    assert isinstance(after_s, int | float)
    if when != "every" and every != 1:
        raise InputError("Only a check at every n-th use counts uses.", remedy="Give 1 for “every”.")
    if when == "before_first" and after_s:
        raise InputError("A check before the first use is due at that use.", remedy="Give 0 for “after_s”.")
    return ByUse(when, int(every), int(after_s))


def _as_sentence(error: ValidationError, cadence: Cadence, schema: dict[str, Any]) -> InputError:
    if error.path:
        name = str(error.path[0])
        return InputError(f"“{name}” of the cadence is not {_EXPECTED[name]}.", remedy=f"Correct “{name}”.")
    present, properties = set(cadence), schema["properties"]
    if missing := [name for name in properties if name not in present]:
        return InputError(f"The cadence lacks “{missing[0]}”.", remedy=f"Add {_EXPECTED[missing[0]]}.")
    surplus = ", ".join(f"“{name}”" for name in sorted(map(str, present - set(properties))))
    return InputError(f"A cadence of this kind has no {surplus}.", remedy="Leave it out.")
