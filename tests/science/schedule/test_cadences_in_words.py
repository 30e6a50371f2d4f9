"""Cadences as a person reads them, and the sentences that refuse one."""

import json

import pytest
from jsonschema import Draft202012Validator

from haccp.science.errors import InputError
from haccp.science.schedule import check_cadence, describe
from haccp.science.schedule.cadence import SCHEMAS


def clock(rule: str, first: str = "2026-01-05") -> dict[str, object]:
    return {"kind": "clock", "rrule": rule, "from": first}


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=DAILY;BYHOUR=7,18;BYMINUTE=0;BYSECOND=0", "every day at 07:00 and 18:00"),
        ("RRULE:freq=daily;byhour=18,7", "every day at 07:00 and 18:00"),
        ("FREQ=DAILY;BYHOUR=6;BYMINUTE=0,30", "every day at 06:00 and 06:30"),
        ("FREQ=DAILY;INTERVAL=2;BYHOUR=8", "every second day at 08:00"),
        ("FREQ=DAILY;BYDAY=MO,TU,FR;BYHOUR=8", "every Monday, Tuesday and Friday at 08:00"),
        ("FREQ=WEEKLY;BYHOUR=9", "every Monday at 09:00"),  # 5 January 2026 is a Monday
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=TH;BYHOUR=9", "every second week on Thursday at 09:00"),
        ("FREQ=MONTHLY;BYHOUR=9", "every month on the 5th at 09:00"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,-1;BYHOUR=9", "every month on the 1st and last day at 09:00"),
        ("FREQ=MONTHLY;BYDAY=1MO;BYHOUR=9", "every month on the first Monday at 09:00"),
        ("FREQ=MONTHLY;BYDAY=-2FR;BYHOUR=9", "every month on the second to last Friday at 09:00"),
        (
            "FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=-1;BYHOUR=9",
            "every month on Monday and Tuesday at 09:00 (only the last of these)",
        ),
        ("FREQ=YEARLY;BYHOUR=9", "every year in January on the 5th at 09:00"),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO;BYHOUR=9", "every year in week 20 on Monday at 09:00"),
        ("FREQ=YEARLY;BYYEARDAY=100,111;BYHOUR=9", "every year on the 100th and 111th day of the year at 09:00"),
        ("FREQ=DAILY;BYMONTHDAY=13;BYDAY=FR;BYHOUR=9", "every Friday on the 13th of the month at 09:00"),
        ("FREQ=MONTHLY;BYMONTHDAY=-3;BYHOUR=9", "every month on the 3rd to last day at 09:00"),
        ("FREQ=HOURLY;INTERVAL=4", "every 4 h"),
        ("FREQ=MINUTELY;INTERVAL=90", "every 1 h 30 min"),
        ("FREQ=HOURLY;BYHOUR=6,7,8;BYMINUTE=15", "every hour at 06:15, 07:15 and 08:15"),
        ("FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10", "every 20 min in the hours of 09 and 10"),
        ("FREQ=HOURLY;BYMINUTE=10,40", "every hour at 10 and 40 min past the hour"),
        ("FREQ=DAILY;BYHOUR=9;COUNT=10", "every day at 09:00 for 10 times"),
        ("FREQ=DAILY;BYHOUR=9;UNTIL=20261224", "every day at 09:00 until 2026-12-24"),
        ("FREQ=DAILY;BYHOUR=9;UNTIL=20261224T120000Z", "every day at 09:00 until 2026-12-24 12:00 UTC"),
    ],
)
def test_a_rule_in_words(rule: str, words: str) -> None:
    assert describe(clock(rule)) == words


@pytest.mark.parametrize(
    ("cadence", "words"),
    [
        (
            {"kind": "event", "event": "starter_added", "offsets_s": [14400, 7200, 21600]},
            "2 h, 4 h and 6 h after starter added",
        ),
        ({"kind": "event", "event": "drained", "offsets_s": [0]}, "once for each batch, at drained"),
        ({"kind": "event", "event": "drained", "offsets_s": [5400]}, "1 h 30 min after drained"),
        (
            {"kind": "event", "event": "drained", "offsets_s": [0, 5_184_000]},
            "at drained and 60 days after drained",
        ),
        (
            {
                "kind": "event_daily",
                "event": "placed_in_room",
                "until_event": "left_room",
                "at": "08:00",
                "every_days": 1,
            },
            "every day at 08:00 from placed in room until left room",
        ),
        (
            {
                "kind": "event_daily",
                "event": "placed_in_room",
                "until_event": "left_room",
                "at": "08:00",
                "every_days": 22,
            },
            "every 22nd day at 08:00 from placed in room until left room",
        ),
        ({"kind": "by_hand"}, "when someone asks for it"),
        ({"kind": "plan_review"}, "when the review of the plan falls due"),
    ],
)
def test_a_cadence_in_words(cadence: dict[str, object], words: str) -> None:
    assert describe(cadence) == words
    assert describe(json.loads(json.dumps(cadence))) == words


def test_a_single_check_open_from_its_event_on_is_within_a_time_of_it() -> None:
    at_once = {"kind": "event", "event": "drained", "offsets_s": [0]}
    assert describe(at_once, grace_s=1800) == "once for each batch, within 30 min of drained"
    later = {"kind": "event", "event": "drained", "offsets_s": [1800]}
    assert describe(later, window_before_s=1800, grace_s=60) == "once for each batch, within 30 min of drained"
    assert describe(later, window_before_s=600, grace_s=60) == "30 min after drained"


EVENT: dict[str, object] = {"kind": "event", "event": "drained", "offsets_s": [0]}
DAILY: dict[str, object] = {
    "kind": "event_daily", "event": "placed_in_room", "until_event": "left_room", "at": "08:00", "every_days": 1,
}  # fmt: skip


@pytest.mark.parametrize(
    ("cadence", "problem"),
    [
        ({}, "The cadence does not say its kind."),
        ([], "The cadence does not say its kind."),
        ({"kind": "sometimes"}, "“sometimes” is not a kind of cadence."),
        ({"kind": ["clock"]}, "“['clock']” is not a kind of cadence."),
        ({"kind": "event", "event": "drained"}, "The cadence lacks “offsets_s”."),
        ({**EVENT, "minutes": 3}, "A cadence of this kind has no “minutes”."),
        ({"kind": "by_hand", "event": "drained"}, "A cadence of this kind has no “event”."),
        (
            {**EVENT, "event": "Drained!"},
            "“event” of the cadence is not the name of an event such as starter_added.",
        ),
        *(
            (
                {**EVENT, "offsets_s": offsets},
                "“offsets_s” of the cadence is not a list of different whole numbers of seconds from 0 up to ten "
                "years, such as 7200, 14400.",
            )
            for offsets in ([], [1, 1], [-1], [0.5], ["2 h"], [True], 7200, [10**12])
        ),
        *(
            ({**DAILY, "at": at}, "“at” of the cadence is not a time of the day such as 08:00.")
            for at in ("8:00", "24:00", "08:60", 8, "08:00+01:00")
        ),
        ({**DAILY, "every_days": 0}, "“every_days” of the cadence is not a whole number of days from 1 to 366."),
        (
            {**DAILY, "until_event": "placed_in_room"},
            "The check begins and ends with the same event, “placed_in_room”.",
        ),
        (clock("FREQ=DAILY", "1.1.2026"), "“from” of the cadence is not a local date such as 2026-01-31."),
        (clock("FREQ=DAILY", "2026-02-30"), "“2026-02-30” is not a date."),
        (clock("FREQ=DAILY", "1026-01-01"), "The start “1026-01-01” is not in the years 1800 to 2500."),
    ],
)
def test_a_cadence_that_cannot_be_used_is_refused_with_a_sentence(cadence: dict[str, object], problem: str) -> None:
    with pytest.raises(InputError) as refused:
        check_cadence(cadence)
    assert refused.value.problem == problem
    assert refused.value.remedy.endswith(".")


@pytest.mark.parametrize(
    ("rule", "problem"),
    [
        ("every day", "The rule has “EVERY DAY” where a name, an equals sign and a value belong."),
        ("FREQ=DAILY;", "The rule has “” where a name, an equals sign and a value belong."),
        ("FREQ=DAILY;BYEASTER=0", "The rule has the part “BYEASTER”, which RFC 5545 does not know."),
        ("FREQ=DAILY;BYHOUR=7;BYHOUR=8", "The rule gives BYHOUR twice."),
        ("BYHOUR=7", "The rule does not say how often: FREQ is missing."),
        ("FREQ=SECONDLY", "FREQ=SECONDLY cannot be used for checks."),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL=0 is not a whole number from 1 to 1000."),
        ("FREQ=DAILY;COUNT=x", "COUNT=X is not a whole number from 1 to 10000."),
        ("FREQ=DAILY;COUNT=3;UNTIL=20270101", "COUNT and UNTIL are both given."),
        ("FREQ=DAILY;UNTIL=20270230", "UNTIL=20270230 is not a date."),
        ("FREQ=DAILY;UNTIL=20270101Z", "UNTIL=20270101Z is not a date."),
        ("FREQ=DAILY;UNTIL=20200101", "The rule ends before its first time, 2026-01-05 00:00."),
        ("FREQ=DAILY;BYHOUR=24", "BYHOUR has “24”, which is not a whole number from 0 to 23."),
        ("FREQ=DAILY;BYSECOND=60", "BYSECOND has “60”, which is not a whole number from 0 to 59."),
        (
            "FREQ=MONTHLY;BYMONTHDAY=0",
            "BYMONTHDAY has “0”, which is not a whole number from 1 to 31, or -31 to -1 counted from the end.",
        ),
        ("FREQ=WEEKLY;BYDAY=MON", "BYDAY has “MON”, which is not a day of the week."),
        ("FREQ=MONTHLY;BYDAY=0MO", "BYDAY has “0MO”, which is not a day of the week."),
        ("FREQ=WEEKLY;WKST=1", "WKST=1 is not a day of the week."),
        # RFC 5545, section 3.3.10: combinations that MUST NOT be used
        ("FREQ=WEEKLY;BYDAY=1MO", "A counted day such as 1MO goes with FREQ=MONTHLY or YEARLY only."),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "A counted day such as 1MO does not go with BYWEEKNO."),
        ("FREQ=WEEKLY;BYMONTHDAY=1", "BYMONTHDAY does not go with FREQ=WEEKLY."),
        ("FREQ=MONTHLY;BYYEARDAY=1", "BYYEARDAY does not go with FREQ=MONTHLY."),
        ("FREQ=MONTHLY;BYWEEKNO=1", "BYWEEKNO goes with FREQ=YEARLY only."),
        ("FREQ=MONTHLY;BYSETPOS=1", "BYSETPOS needs another BY part to choose from."),
        (
            "FREQ=MINUTELY;BYSECOND=0,30",
            "The rule is due more often than once a minute, and no person can check that often.",
        ),
        # Rules that can be written and never fall
        ("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "The rule never falls on any day."),
        ("FREQ=YEARLY;BYMONTH=6;BYWEEKNO=1", "The rule never falls on any day."),
        ("FREQ=MONTHLY;BYDAY=MO;BYSETPOS=6", "The rule never falls on any day."),
        ("FREQ=HOURLY;INTERVAL=2;BYHOUR=7", "The rule never falls on any day."),
        ("FREQ=MINUTELY;INTERVAL=60;BYMINUTE=5", "The rule never falls on any day."),
    ],
)
def test_a_rule_that_cannot_be_used_is_refused_with_a_sentence(rule: str, problem: str) -> None:
    with pytest.raises(InputError) as refused:
        check_cadence(clock(rule))
    assert refused.value.problem == problem
    assert refused.value.remedy.endswith(".")


def test_the_schemas_are_valid_json_schema_and_name_every_field_with_a_sentence() -> None:
    for schema in SCHEMAS.values():
        Draft202012Validator.check_schema(schema)
