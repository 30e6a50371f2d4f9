"""Checks that follow from what happened to a lot."""

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

import pytest

from haccp.science.errors import InputError
from haccp.science.schedule import Slot, slots


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def of_lot(
    cadence: Mapping[str, object],
    events: Mapping[str, Sequence[datetime]],
    start: str = "2026-03-01",
    end: str = "2026-05-01",
    closed: Sequence[tuple[date, date]] = (),
) -> list[Slot]:
    return slots(
        cadence,
        time_zone="Europe/Paris",
        window_before_s=600,
        grace_s=900,
        start=utc(start),
        end=utc(end),
        events=events,
        closed=closed,
    )


ACIDITY = {"kind": "event", "event": "starter_added", "offsets_s": [7200, 14400, 21600]}
TURNING = {
    "kind": "event_daily",
    "event": "placed_in_room",
    "until_event": "left_room",
    "at": "08:00",
    "every_days": 1,
}


def test_a_check_is_due_at_each_offset_of_elapsed_time_after_its_event() -> None:
    # Over the change of the clock of 29 March 2026 (Directive 2000/84/EC) two hours stay two hours.
    found = of_lot(ACIDITY, {"starter_added": [utc("2026-03-29T00:30")]})
    assert [slot.due_at for slot in found] == [
        utc("2026-03-29T02:30"), utc("2026-03-29T04:30"), utc("2026-03-29T06:30"),
    ]  # fmt: skip
    assert found[0] == Slot(
        key="starter_added@2026-03-29T00:30:00Z+7200",
        opens_at=utc("2026-03-29T02:20"),
        due_at=utc("2026-03-29T02:30"),
        grace_ends_at=utc("2026-03-29T02:45"),
    )


def test_an_event_that_happened_twice_has_its_checks_twice_under_different_keys() -> None:
    twice = [utc("2026-03-02T06:00"), utc("2026-03-02T08:00")]
    found = of_lot(ACIDITY, {"starter_added": twice})
    # 10:00 is 4 h after the first and 2 h after the second.
    assert [slot.due_at.hour for slot in found] == [8, 10, 10, 12, 12, 14]
    assert len({slot.key for slot in found}) == 6


def test_the_same_moment_told_twice_or_in_another_zone_is_one_event() -> None:
    moment = utc("2026-03-02T06:00")
    elsewhere = moment.astimezone(tz=datetime.fromisoformat("2026-01-01T00:00+05:30").tzinfo)
    assert of_lot(ACIDITY, {"starter_added": [moment, elsewhere, moment]}) == of_lot(
        ACIDITY, {"starter_added": [moment]}
    )


def test_without_its_event_nothing_is_due() -> None:
    assert of_lot(ACIDITY, {"drained": [utc("2026-03-02T06:00")]}) == []
    assert of_lot(TURNING, {"left_room": [utc("2026-03-02T06:00")]}) == []


def test_a_check_by_hand_is_never_due() -> None:
    assert of_lot({"kind": "by_hand"}, {"starter_added": [utc("2026-03-02T06:00")]}) == []


def test_a_daily_check_is_due_from_the_first_event_and_no_longer_at_the_second() -> None:
    found = of_lot(TURNING, {"placed_in_room": [utc("2026-03-27T07:00")], "left_room": [utc("2026-03-30T06:00")]})
    # 08:00 is 07:00 UTC until 28 March, 06:00 UTC from 29 March on.
    assert [(slot.key, slot.due_at) for slot in found] == [
        ("2026-03-27T08:00:00", utc("2026-03-27T07:00")),
        ("2026-03-28T08:00:00", utc("2026-03-28T07:00")),
        ("2026-03-29T08:00:00", utc("2026-03-29T06:00")),
    ]


def test_placed_after_the_hour_the_first_daily_check_is_tomorrow() -> None:
    found = of_lot(TURNING, {"placed_in_room": [utc("2026-03-02T07:01")]}, end="2026-03-05")
    assert [slot.key for slot in found] == ["2026-03-03T08:00:00", "2026-03-04T08:00:00"]


def test_every_third_day_counts_from_the_day_of_placing() -> None:
    found = of_lot(
        {**TURNING, "every_days": 3},
        {"placed_in_room": [utc("2026-03-02T12:00")], "left_room": [utc("2026-03-12T12:00")]},
    )
    assert [slot.key[:10] for slot in found] == ["2026-03-05", "2026-03-08", "2026-03-11"]


def test_a_lot_still_in_the_room_is_due_to_the_end_of_the_period() -> None:
    found = of_lot(TURNING, {"placed_in_room": [utc("2024-03-02T12:00")]})
    assert len(found) == 61  # every date of March and April
    assert found[-1].due_at < utc("2026-05-01")


def test_a_lot_that_left_and_came_back_is_not_due_in_between() -> None:
    found = of_lot(
        TURNING,
        {
            "placed_in_room": [utc("2026-03-02T12:00"), utc("2026-03-10T12:00")],
            "left_room": [utc("2026-03-04T12:00"), utc("2026-03-12T12:00")],
        },
    )
    assert [int(slot.key[8:10]) for slot in found] == [3, 4, 11, 12]


def test_a_move_between_rooms_does_not_double_or_stop_the_daily_check() -> None:
    moved = utc("2026-03-04T07:00")  # exactly when the check is due
    left = utc("2026-03-06T12:00")
    for events in (
        {"placed_in_room": [utc("2026-03-02T12:00"), moved], "left_room": [moved, left]},
        {"placed_in_room": [utc("2026-03-02T12:00"), moved], "left_room": [left]},
    ):
        assert [int(slot.key[8:10]) for slot in of_lot(TURNING, events)] == [3, 4, 5, 6]


def test_a_daily_check_of_a_lot_is_not_doubled_where_the_calendar_skips_a_date() -> None:
    # Samoa crossed the date line: 29 December 2011 was followed by 31 December (tz database, Pacific/Apia).
    found = slots(
        TURNING,
        time_zone="Pacific/Apia",
        window_before_s=0,
        grace_s=0,
        start=utc("2011-12-28"),
        end=utc("2012-01-02"),
        events={"placed_in_room": [utc("2011-12-20")]},
    )
    assert [slot.key[:10] for slot in found] == [
        "2011-12-28",
        "2011-12-29",
        "2011-12-31",
        "2012-01-01",
        "2012-01-02",
    ]


def test_closed_dates_are_the_local_dates_of_the_check() -> None:
    closed = [(date(2026, 3, 3), date(2026, 3, 3))]
    night = {"kind": "event", "event": "drained", "offsets_s": [0, 3600]}
    # 22:30 UTC is 23:30 on 2 March in Paris, an hour later it is the closed date.
    assert [slot.key[-2:] for slot in of_lot(night, {"drained": [utc("2026-03-02T22:30")]}, closed=closed)] == ["+0"]
    daily = of_lot(TURNING, {"placed_in_room": [utc("2026-03-01T12:00")]}, end="2026-03-05", closed=closed)
    assert [int(slot.key[8:10]) for slot in daily] == [2, 4]


NAIVE = datetime(2026, 3, 2, 6)  # noqa: DTZ001


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"events": {"starter_added": [NAIVE]}}, "A time of the event “starter_added” has no time zone."),
        ({"start": NAIVE}, "The period has a start or an end without a time zone."),
        ({"end": utc("2026-03-01") - timedelta(seconds=1)}, "The period ends before it starts."),
        ({"end": utc("9999-01-01")}, "The period leaves the years 1800 to 2500."),
        *(
            ({name: value}, "The time before or after a check is due is negative or longer than ten years.")
            for name in ("grace_s", "window_before_s")
            for value in (-1, float("nan"), float("inf"))
        ),
        (
            {"events": {"starter_added": [datetime.max.replace(tzinfo=UTC)]}},
            "A time of the event “starter_added” is not in the years 1800 to 2500.",
        ),
        ({"time_zone": "Paris"}, "“Paris” is not a time zone of the tz database."),
        ({"time_zone": "../etc"}, "“../etc” is not a time zone of the tz database."),
        ({"time_zone": "America"}, "“America” is not a time zone of the tz database."),
        (
            {"closed": [(date(2026, 3, 3), date(2026, 3, 2))]},
            "The closed period from 2026-03-03 to 2026-03-02 ends before it starts.",
        ),
    ],
)
def test_a_question_that_makes_no_sense_is_refused_with_a_sentence(changed: dict[str, object], sentence: str) -> None:
    asked: dict[str, object] = {
        "time_zone": "Europe/Paris",
        "window_before_s": 0,
        "grace_s": 0,
        "start": utc("2026-03-01"),
        "end": utc("2026-03-02"),
    }
    slots(ACIDITY, **asked)  # type: ignore[arg-type]
    with pytest.raises(InputError) as refused:
        slots(ACIDITY, **{**asked, **changed})  # type: ignore[arg-type]
    assert refused.value.problem == sentence
    assert refused.value.remedy
