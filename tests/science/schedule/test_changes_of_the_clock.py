"""No check is lost or doubled when the clocks change, anywhere in the tz database."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.science.schedule import Slot, slots

ZONES = sorted(available_timezones())


def clock_slots(rule: str, zone: str, start: datetime, end: datetime, first: str = "1850-01-01") -> list[Slot]:
    return slots(
        {"kind": "clock", "rrule": rule, "from": first},
        time_zone=zone,
        window_before_s=1800,
        grace_s=3600,
        start=start,
        end=end,
    )


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def dates_lived(zone: str, start: datetime, end: datetime) -> set[date]:
    """The dates that the calendar on the wall shows, by looking at it every hour."""
    tz, looks = ZoneInfo(zone), range(int((end - start) / timedelta(hours=1)))
    return {(start + number * timedelta(hours=1)).astimezone(tz).date() for number in looks}


def local_span(zone: str, start: datetime, end: datetime) -> timedelta:
    """By how much the clock on the wall moved on."""
    tz = ZoneInfo(zone)
    return end.astimezone(tz).replace(tzinfo=None) - start.astimezone(tz).replace(tzinfo=None)


@lru_cache(maxsize=64)
def changes(zone: str, first_year: int = 1850, last_year: int = 2040) -> tuple[datetime, ...]:
    """The UTC days within which the offset changes, by their end."""

    def found() -> Iterator[datetime]:
        tz, first = ZoneInfo(zone), datetime(first_year, 1, 2, tzinfo=UTC)
        days = [first + timedelta(days=number) for number in range((last_year - first_year + 1) * 366)]
        for before, after in pairwise(days):
            if before.astimezone(tz).utcoffset() != after.astimezone(tz).utcoffset():
                yield after

    return tuple(found())


def assert_one_a_day(zone: str, at: time, start: datetime, end: datetime) -> None:
    found = clock_slots(f"FREQ=DAILY;BYHOUR={at.hour};BYMINUTE={at.minute};BYSECOND=0", zone, start, end)
    assert len({slot.key for slot in found}) == len(found)
    assert len({slot.due_at for slot in found}) == len(found)
    lived = dates_lived(zone, start, end)
    # The first and the last date may be lived in part, before or after the time of the check.
    whole = sorted(lived)[2:-2]
    days = [date.fromisoformat(slot.key[:10]) for slot in found]
    assert [day for day in sorted(days) if whole[0] <= day <= whole[-1]] == whole


def test_every_zone_of_the_world_has_one_daily_check_for_each_local_date_around_the_changes_of_2026() -> None:
    for zone in ZONES:
        for around in changes(zone, 2026, 2026) or (utc("2026-03-29"),):
            for at in (time(0, 0), time(2, 30)):
                assert_one_a_day(zone, at, around - timedelta(days=4), around + timedelta(days=4))


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_one_daily_check_for_each_local_date_around_any_change_of_the_clock_since_1850(data: st.DataObject) -> None:
    zone = data.draw(st.sampled_from(ZONES))
    around = data.draw(st.sampled_from(changes(zone) or (utc("2026-03-01"),)))
    at = data.draw(st.times(max_value=time(23, 59)).map(lambda value: value.replace(second=0, microsecond=0)))
    assert_one_a_day(zone, at, around - timedelta(days=5), around + timedelta(days=6))


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_an_hourly_check_leaves_no_hour_without_one(data: st.DataObject) -> None:
    zone = data.draw(st.sampled_from(ZONES))
    around = data.draw(st.sampled_from(changes(zone) or (utc("2026-03-01"),)))

    start, end = around - timedelta(days=2), around + timedelta(days=3)

    found = clock_slots("FREQ=HOURLY", zone, start, end)

    # Put back by other than whole hours (Lord Howe by 30 min, local mean time long ago) the clock itself takes
    # longer from one full hour to the next.
    put_back = timedelta(hours=24) - min(
        local_span(zone, moment, moment + timedelta(hours=24)) for moment in (start, around - timedelta(days=1))
    )
    longest = timedelta(hours=1) + max(put_back, timedelta(0)) % timedelta(hours=1)
    steps = {after.due_at - before.due_at for before, after in pairwise(found)}
    assert timedelta(0) < min(steps)
    assert max(steps) <= longest
    assert len({slot.key for slot in found}) == len(found)


@pytest.mark.parametrize("zone", ["Europe/Paris", "America/New_York", "Australia/Sydney", "Asia/Kolkata"])
def test_an_hourly_check_is_due_every_hour_of_elapsed_time_all_year(zone: str) -> None:
    found = clock_slots("FREQ=HOURLY", zone, utc("2026-01-01T00:30"), utc("2027-01-01T00:30"))
    assert len(found) == 365 * 24
    assert {after.due_at - before.due_at for before, after in pairwise(found)} == {timedelta(hours=1)}


def test_a_time_that_the_clock_skips_moves_forward_by_the_length_of_the_gap() -> None:
    # Directive 2000/84/EC: summer time begins at 01:00 UTC on the last Sunday of March, 29 March in 2026.
    (slot,) = clock_slots("FREQ=DAILY;BYHOUR=2;BYMINUTE=30", "Europe/Paris", utc("2026-03-29"), utc("2026-03-30"))
    assert slot == Slot(
        key="2026-03-29T02:30:00",
        due_at=utc("2026-03-29T01:30"),  # 03:30 on the wall
        opens_at=utc("2026-03-29T01:00"),
        grace_ends_at=utc("2026-03-29T02:30"),
    )


def test_a_time_that_comes_twice_is_due_the_first_time() -> None:
    # Directive 2000/84/EC: summer time ends at 01:00 UTC on the last Sunday of October, 25 October in 2026.
    (slot,) = clock_slots("FREQ=DAILY;BYHOUR=2;BYMINUTE=30", "Europe/Paris", utc("2026-10-25"), utc("2026-10-26"))
    assert (slot.key, slot.due_at) == ("2026-10-25T02:30:00", utc("2026-10-25T00:30"))


def test_rfc_5545_section_3_3_5_the_times_in_new_york() -> None:
    # "TZID=America/New_York:20070311T023000" is 03:30 EDT, and 20071104T013000 is 01:30 EDT, not EST.
    spring = clock_slots("FREQ=DAILY;BYHOUR=2;BYMINUTE=30", "America/New_York", utc("2007-03-11"), utc("2007-03-12"))
    autumn = clock_slots("FREQ=DAILY;BYHOUR=1;BYMINUTE=30", "America/New_York", utc("2007-11-04"), utc("2007-11-05"))
    assert [slot.due_at for slot in spring] == [utc("2007-03-11T07:30")]
    assert [slot.due_at for slot in autumn] == [utc("2007-11-04T05:30")]


def test_two_times_that_fall_on_one_instant_are_one_check_under_the_time_that_the_clock_shows() -> None:
    found = clock_slots(
        "FREQ=DAILY;BYHOUR=2,3;BYMINUTE=0", "Europe/Paris", utc("2026-03-28T12:00"), utc("2026-03-29T12:00")
    )
    assert [slot.key for slot in found] == ["2026-03-29T03:00:00"]


def test_each_pass_of_a_repeated_hour_has_its_own_hourly_check_and_key() -> None:
    found = clock_slots("FREQ=HOURLY", "Europe/Paris", utc("2026-10-24T23:00"), utc("2026-10-25T03:00"))
    assert [(slot.key, slot.due_at) for slot in found] == [
        ("2026-10-25T01:00:00", utc("2026-10-24T23:00")),
        ("2026-10-25T02:00:00", utc("2026-10-25T00:00")),
        ("2026-10-25T02:00:00+01:00", utc("2026-10-25T01:00")),
        ("2026-10-25T03:00:00", utc("2026-10-25T02:00")),
    ]


def test_a_date_that_the_calendar_skips_has_no_daily_check_of_its_own() -> None:
    # Samoa crossed the date line: 29 December 2011 was followed by 31 December (tz database, Pacific/Apia).
    found = clock_slots("FREQ=DAILY;BYHOUR=7;BYMINUTE=0", "Pacific/Apia", utc("2011-12-28"), utc("2011-12-31"))
    assert [slot.key[:10] for slot in found] == [
        "2011-12-28",
        "2011-12-29",
        "2011-12-31",
    ]  # at 07:00 of UTC-10, then UTC+14


def test_a_weekly_check_on_a_date_that_the_calendar_skips_moves_to_the_next() -> None:
    # 30 December 2011 would have been a Friday; by the length of the gap, 24 h, the check comes on Saturday.
    found = clock_slots(
        "FREQ=WEEKLY;BYDAY=FR;BYHOUR=7;BYMINUTE=0", "Pacific/Apia", utc("2011-12-26"), utc("2012-01-03")
    )
    assert [slot.due_at for slot in found] == [utc("2011-12-30T17:00")]
    in_apia = found[0].due_at.astimezone(ZoneInfo("Pacific/Apia"))
    assert in_apia.replace(tzinfo=None).isoformat() == "2011-12-31T07:00:00"


def test_a_gap_that_begins_the_day_still_leaves_the_day_its_midnight_check() -> None:
    # Cairo begins summer time at midnight, the last Friday of April (tz database, since 2023): 24 April 2026.
    found = clock_slots("FREQ=DAILY;BYHOUR=0;BYMINUTE=0", "Africa/Cairo", utc("2026-04-23"), utc("2026-04-25"))
    assert [(slot.key, slot.due_at) for slot in found] == [
        ("2026-04-24T00:00:00", utc("2026-04-23T22:00")),  # 01:00 on the wall
        ("2026-04-25T00:00:00", utc("2026-04-24T21:00")),
    ]
