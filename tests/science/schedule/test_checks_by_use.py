"""Checks that fall due by the use of equipment, and those before release. Common practice, no source."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.schedule import USE, Slot, check_cadence, describe, slots
from haccp.science.schedule.interval import longest_interval_days

DAY = datetime(2026, 3, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)
ZONE = "Europe/Dublin"


def due(when: str, uses: list[datetime], *, every: int = 1, after_s: int = 0, grace_s: float = 3600) -> list[Slot]:
    return slots(
        {"kind": "use", "when": when, "every": every, "after_s": after_s},
        time_zone=ZONE,
        window_before_s=3600,
        grace_s=grace_s,
        start=DAY,
        end=DAY + timedelta(days=30),
        events={USE: uses},
    )


def test_before_the_first_use_of_each_day_at_the_very_use() -> None:
    uses = [DAY + 6 * HOUR, DAY + 12 * HOUR, DAY + 30 * HOUR]
    assert [slot.due_at for slot in due("before_first", uses)] == [uses[0], uses[2]]


def test_after_the_last_use_waits_while_the_next_one_comes_within_its_grace() -> None:
    uses = [DAY + 6 * HOUR, DAY + 8 * HOUR, DAY + 30 * HOUR]
    found = due("after_last", uses, after_s=2 * 3600)
    assert [slot.due_at for slot in found] == [uses[1] + 2 * HOUR, uses[2] + 2 * HOUR]


def test_what_was_missed_before_the_next_use_of_the_day_stays_missed() -> None:
    """Six hours between two uses, an hour and an hour's grace: the vat stood dirty, whatever came later."""
    uses = [DAY + 6 * HOUR, DAY + 12 * HOUR]
    assert [slot.due_at for slot in due("after_last", uses, after_s=3600)] == [use + HOUR for use in uses]


def test_every_third_use_counts_from_the_first_use_on() -> None:
    uses = [DAY + n * 24 * HOUR for n in range(7)]
    assert [slot.due_at for slot in due("every", uses, every=3)] == [uses[2], uses[5]]


@given(st.lists(st.integers(0, 20 * 24 * 60), unique=True, min_size=1, max_size=40), st.integers(0, 60))
def test_what_is_past_its_grace_does_not_depend_on_uses_that_come_later(minutes: list[int], after_min: int) -> None:
    """A sweep flags as it goes; one after weeks must find the very same."""
    uses = sorted(DAY + timedelta(minutes=minute) for minute in minutes)
    for when in ("before_first", "after_last", "every"):
        after_s = 0 if when == "before_first" else after_min * 60
        in_the_end = due(when, uses, after_s=after_s)
        flagged: set[str] = set()
        for number, now in enumerate([*uses[1:], DAY + timedelta(days=29)]):
            known = due(when, uses[: number + 1], after_s=after_s)
            flagged |= {slot.key for slot in known if slot.grace_ends_at < now}
        assert flagged <= {slot.key for slot in in_the_end}
        assert {slot.key for slot in in_the_end if slot.grace_ends_at < DAY + timedelta(days=29)} == flagged


def test_before_release_is_never_due_by_the_clock() -> None:
    cadence = {"kind": "before_release"}
    check_cadence(cadence)
    assert describe(cadence) == "once for each batch, before it is released"
    assert longest_interval_days(cadence) == 0.0
    period = {"start": DAY, "end": DAY + timedelta(days=400)}
    assert slots(cadence, time_zone=ZONE, window_before_s=0, grace_s=0, **period) == []


@pytest.mark.parametrize(
    ("cadence", "words"),
    [
        ({"when": "before_first", "every": 1, "after_s": 0}, "before the first use of each day"),
        ({"when": "after_last", "every": 1, "after_s": 7200}, "after the last use of each day, within 2 h"),
        ({"when": "every", "every": 10, "after_s": 0}, "at every 10th use"),
        ({"when": "every", "every": 1, "after_s": 600}, "at every use, 10 min after it"),
    ],
)
def test_in_words(cadence: dict[str, object], words: str) -> None:
    assert describe({"kind": "use", **cadence}) == words


@pytest.mark.parametrize(
    ("cadence", "sentence"),
    [
        ({"when": "sometimes", "every": 1, "after_s": 0}, "“when” of the cadence is not one of"),
        ({"when": "after_last", "every": 2, "after_s": 0}, "Only a check at every n-th use"),
        ({"when": "before_first", "every": 1, "after_s": 60}, "due at that use"),
        ({"when": "every", "every": 0, "after_s": 0}, "a whole number of uses"),
    ],
)
def test_a_cadence_that_says_nothing_is_refused_with_a_sentence(cadence: dict[str, object], sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        check_cadence({"kind": "use", **cadence})
