"""Slots are a pure function of the period: sweeping it in parts finds what one sweep finds."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import available_timezones

import pytest
from dateutil.rrule import rrulestr
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.schedule import Slot, check_cadence, slots
from haccp.science.schedule.rule_text import read_recurrence

ZONES = sorted(available_timezones())


def numbers(lowest: int, highest: int) -> st.SearchStrategy[str]:
    chosen = st.lists(st.integers(lowest, highest).filter(bool), min_size=1, max_size=3, unique=True)
    return chosen.map(lambda found: ",".join(map(str, found)))


WEEKDAY = st.sampled_from(["MO", "TU", "WE", "TH", "FR", "SA", "SU"])
WEEKDAYS = st.lists(WEEKDAY, min_size=1, max_size=3, unique=True).map(",".join)
COUNTED = st.tuples(st.sampled_from(["1", "2", "-1"]), WEEKDAY).map("".join)


@st.composite
def rules(draw: st.DrawFn) -> str:
    """Rules of every frequency that a plan may hold, with the day parts that RFC 5545 allows it."""
    frequency = draw(st.sampled_from(["YEARLY", "MONTHLY", "WEEKLY", "DAILY", "HOURLY", "MINUTELY"]))
    parts = [f"FREQ={frequency}"]
    interval = draw(st.integers(1, 7)) * (30 if frequency == "MINUTELY" else 1)
    parts.append(f"INTERVAL={interval}")
    by_day = WEEKDAYS | COUNTED if frequency in ("YEARLY", "MONTHLY") else WEEKDAYS
    optional: dict[str, st.SearchStrategy[str]] = {"BYDAY": by_day, "BYMONTH": numbers(1, 12)}
    if frequency != "WEEKLY":
        optional["BYMONTHDAY"] = numbers(-5, 28)
    if frequency == "YEARLY":
        optional["BYYEARDAY"] = numbers(-366, 366)
    if frequency not in ("HOURLY", "MINUTELY"):
        optional["BYHOUR"] = st.lists(st.integers(0, 23), min_size=1, max_size=3, unique=True).map(
            lambda found: ",".join(map(str, found))
        )
    parts += [f"{name}={draw(values)}" for name, values in optional.items() if draw(st.integers(0, 2)) == 0]
    if frequency in ("YEARLY", "MONTHLY", "WEEKLY") and len(parts) > 2:
        parts += draw(st.sampled_from([[], ["BYSETPOS=1"], ["BYSETPOS=-1"], ["BYSETPOS=2"]]))
    parts += draw(st.sampled_from([[], ["WKST=SU"]]))
    parts += draw(st.sampled_from([[], [], ["COUNT=40"], ["UNTIL=20301231"], ["UNTIL=20290615T120000Z"]]))
    return ";".join(parts)


# On the quarter of an hour, so that checks fall on the very borders of the periods.
MOMENTS = st.datetimes(datetime(2026, 1, 1), datetime(2031, 1, 1), timezones=st.just(UTC)).map(  # noqa: DTZ001
    lambda moment: moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)
)
EVENT_CADENCES = st.sampled_from(
    [
        {"kind": "event", "event": "starter_added", "offsets_s": [0, 7200, 14400, 5_184_000]},
        *(
            {
                "kind": "event_daily",
                "event": "starter_added",
                "until_event": "drained",
                "at": at,
                "every_days": days,
            }
            for at in ("00:00", "02:30", "08:00")
            for days in (1, 3)
        ),
    ]
)


def usable(rule: str, first: str) -> dict[str, object]:
    cadence: dict[str, object] = {"kind": "clock", "rrule": rule, "from": first}
    try:
        check_cadence(cadence)
    except InputError:  # such as 31 February, or an interval that never meets its hours
        assume(False)
    return cadence


@settings(deadline=None, max_examples=200)
@given(st.data())
def test_slots_of_a_period_are_those_of_its_parts(data: st.DataObject) -> None:
    zone = data.draw(st.sampled_from(ZONES))
    length = st.integers(0, 120 * 96).map(lambda quarters: timedelta(minutes=15 * quarters))
    start = data.draw(MOMENTS)
    middle = start + data.draw(length)
    end = middle + data.draw(length)
    near = st.integers(-2_000, 12_000).map(lambda quarters: start + timedelta(minutes=15 * quarters))
    moments = st.lists(near | st.just(start) | st.just(middle), max_size=4)
    events = {"starter_added": data.draw(moments), "drained": data.draw(moments)}
    closed = [(day, day + timedelta(days=data.draw(st.integers(0, 20)))) for day in [middle.date()]]
    clock = rules().map(lambda rule: usable(rule, "2026-01-07"))
    cadence: dict[str, object] = data.draw(st.one_of(clock, EVENT_CADENCES))

    def swept(earliest: datetime, latest: datetime) -> list[Slot]:
        return slots(
            cadence,
            time_zone=zone,
            window_before_s=900,
            grace_s=1800,
            start=earliest,
            end=latest,
            events=events,
            closed=closed,
        )

    whole = swept(start, end)
    assert whole == swept(start, middle) + swept(middle, end)
    assert len({slot.key for slot in whole}) == len(whole)
    assert all(start <= slot.due_at < end for slot in whole)


@pytest.mark.parametrize(
    ("rule", "zone", "night", "keys"),
    [
        pytest.param(
            # Directive 2000/84/EC: at 02:00 of summer time it is 01:00 again.
            "FREQ=MINUTELY;INTERVAL=45",
            "Europe/London",
            datetime(2026, 10, 24, 23, 30, tzinfo=UTC),
            ["2026-10-25T00:45:00", "2026-10-25T01:30:00", "2026-10-25T01:30:00+00:00", "2026-10-25T02:15:00"],
            id="put back, by intervals",
        ),
        pytest.param(
            "FREQ=DAILY;BYHOUR=1;BYMINUTE=30",
            "Europe/London",
            datetime(2026, 10, 24, 23, 30, tzinfo=UTC),
            ["2026-10-25T01:30:00"],
            id="put back, at a time",
        ),
        pytest.param(
            "FREQ=DAILY;BYHOUR=1;BYMINUTE=0,30",
            "Europe/London",
            datetime(2026, 3, 29, 0, 0, tzinfo=UTC),
            ["2026-03-29T01:00:00", "2026-03-29T01:30:00"],
            id="put on",
        ),
        pytest.param(
            # Friday 30 December 2011 was skipped whole (tz database).
            "FREQ=WEEKLY;BYDAY=FR;BYHOUR=7;BYMINUTE=0",
            "Pacific/Apia",
            datetime(2011, 12, 30, 16, 0, tzinfo=UTC),
            ["2011-12-30T07:00:00"],
            id="a date skipped",
        ),
    ],
)
def test_a_sweep_every_minute_finds_what_one_sweep_after_the_night_finds(
    rule: str, zone: str, night: datetime, keys: list[str]
) -> None:
    def swept(start: datetime, end: datetime) -> list[Slot]:
        return slots(
            {"kind": "clock", "rrule": rule, "from": "2011-01-01"},
            time_zone=zone,
            window_before_s=0,
            grace_s=600,
            start=start,
            end=end,
        )

    minutes = [night + timedelta(minutes=number) for number in range(3 * 60)]
    once = swept(night, night + timedelta(hours=3))
    assert [slot.key for slot in once] == keys
    assert [slot for minute in minutes for slot in swept(minute, minute + timedelta(minutes=1))] == once


@settings(deadline=None, max_examples=300)
@given(rules(), st.datetimes(datetime(2026, 1, 1), datetime(2032, 1, 1)), st.integers(0, 400))  # noqa: DTZ001
def test_a_start_moved_close_to_the_period_changes_nothing(rule: str, earliest: datetime, days: int) -> None:
    # Reference: python-dateutil, walking all the way from the start.
    plain = ";".join(part for part in rule.split(";") if not part.startswith(("UNTIL", "COUNT")))
    usable(plain, "2026-01-31T09:15:00")
    latest = earliest + timedelta(days=days)
    start = datetime(2026, 1, 31, 9, 15)  # noqa: DTZ001
    expected = rrulestr(plain, dtstart=start).between(earliest, latest, inc=True)
    assert read_recurrence(plain, "2026-01-31T09:15:00").between(earliest, latest) == expected


def test_a_start_moved_into_a_week_does_not_cut_the_days_that_the_rule_chooses_from() -> None:
    # The first of Monday and Sunday is always Monday. A week cut at its Saturday would offer Sunday only.
    recurrence = read_recurrence("FREQ=WEEKLY;BYDAY=MO,SU;BYSETPOS=1;BYHOUR=7", "2026-01-31")
    saturday = datetime(2026, 5, 30)  # noqa: DTZ001
    found = recurrence.between(saturday, saturday + timedelta(days=10))
    assert [moment.date() for moment in found] == [date(2026, 6, 1), date(2026, 6, 8)]


@pytest.mark.parametrize(
    ("rule", "name"), [("FREQ=DAILY;BYHOUR=7", "days"), ("FREQ=MINUTELY;INTERVAL=15", "quarters of an hour")]
)
def test_a_rule_of_long_ago_costs_no_more_than_one_of_yesterday(rule: str, name: str) -> None:
    # Counted and not timed: how far dateutil is made to walk from the start that it is given.
    recurrence = read_recurrence(rule, "1926-01-01")
    now = datetime(2026, 6, 1)  # noqa: DTZ001
    walked = recurrence._expanded_from(recurrence._start_near(now)).between(
        recurrence.first, now + timedelta(days=1), inc=True
    )
    assert len(walked) <= 100, f"{len(walked)} {name}"


def test_closed_periods_have_no_checks_from_their_first_to_their_last_date() -> None:
    def days(closed: list[tuple[date, date]]) -> list[int]:
        found = slots(
            {"kind": "clock", "rrule": "FREQ=DAILY;BYHOUR=0,23;BYMINUTE=30", "from": "2026-01-01"},
            time_zone="Pacific/Auckland",
            window_before_s=0,
            grace_s=0,
            start=datetime(2026, 12, 19, 11, tzinfo=UTC),
            end=datetime(2026, 12, 25, 11, tzinfo=UTC),
            closed=closed,
        )
        return [int(slot.key[8:10]) for slot in found]

    assert days([]) == [20, 20, 21, 21, 22, 22, 23, 23, 24, 24, 25, 25]
    assert days([(date(2026, 12, 21), date(2026, 12, 23)), (date(2026, 12, 25), date(2026, 12, 25))]) == [
        20, 20, 24, 24,
    ]  # fmt: skip
