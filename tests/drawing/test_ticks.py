from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.drawing.ticks import (
    CLOCK_STEPS_S,
    clock_caption,
    clock_ticks,
    elapsed_ticks,
    elapsed_unit_s,
    local_moments,
)
from haccp.drawing.wording import Wording

PARIS = ZoneInfo("Europe/Paris")
ZONES = [ZoneInfo(name) for name in ("Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata")]

four_years = st.integers(0, 4 * 365 * 86400).map(lambda s: datetime(2024, 1, 1, tzinfo=UTC) + timedelta(seconds=s))


def labels(origin: datetime, hours: float, most: int, zone: ZoneInfo = PARIS) -> list[str]:
    return [tick.label for tick in clock_ticks(origin, 0, hours * 3600, zone, most)]


def test_the_hour_that_autumn_repeats_is_ticked_twice_and_named() -> None:
    # Summer time ends at 01:00 UTC on the last Sunday of October: Directive 2000/84/EC, article 3.
    start = datetime(2026, 10, 24, 23, 0, tzinfo=UTC)

    assert labels(start, 4, 5) == ["01:00", "02:00 CEST", "02:00 CET", "03:00", "04:00"]


def test_the_hour_that_spring_skips_is_not_ticked() -> None:
    # Summer time begins at 01:00 UTC on the last Sunday of March: Directive 2000/84/EC, article 2.
    start = datetime(2026, 3, 28, 23, 0, tzinfo=UTC)

    assert labels(start, 4, 5) == ["29 Mar", "01:00", "03:00", "04:00", "05:00"]


@settings(deadline=None)
@given(
    four_years,
    st.sampled_from(ZONES),
    st.sampled_from([step for step in CLOCK_STEPS_S if 300 <= step <= 86400]),
    st.integers(1, 60),
)
def test_every_round_wall_time_is_found_once_each_time_the_clock_shows_it(
    start: datetime, zone: ZoneInfo, step_s: int, steps: int
) -> None:
    """Against a walk through every minute of the period, which knows nothing of folds."""
    start = start.replace(second=0, microsecond=0)
    minutes = min(step_s * steps // 60, 4 * 24 * 60)
    end = start + timedelta(minutes=minutes)

    found = local_moments(start, end, zone, step_s)

    expected = []
    for minute in range(minutes + 1):
        moment = start + timedelta(minutes=minute)
        local = moment.astimezone(zone)
        if (local.hour * 3600 + local.minute * 60) % step_s == 0:
            expected.append(moment)
    assert found == expected


@settings(deadline=None)
@given(
    four_years,
    st.sampled_from(ZONES),
    st.floats(30, 400 * 86400),
    st.integers(2, 14),
)
def test_ticks_lie_on_the_axis_in_order_and_are_few(origin: datetime, zone: ZoneInfo, span_s: float, most: int) -> None:
    ticks = clock_ticks(origin, 0, span_s, zone, most)

    at = [tick.at_s for tick in ticks]
    assert at == sorted(set(at))
    assert all(0 <= t <= span_s for t in at)
    assert len(ticks) <= most + 4  # an hour shown twice may add its own


@pytest.mark.parametrize(
    ("start", "hours", "zone", "caption"),
    [
        (datetime(2026, 11, 20, 7, tzinfo=UTC), 5, PARIS, "20 Nov 2026, Europe/Paris (CET)"),
        (datetime(2026, 10, 24, 23, tzinfo=UTC), 4, PARIS, "25 Oct 2026, Europe/Paris (CEST, CET)"),
        (datetime(2026, 12, 30, 7, tzinfo=UTC), 72, PARIS, "30 Dec 2026 – 2 Jan 2027, Europe/Paris (CET)"),
        (datetime(2026, 1, 30, 7, tzinfo=UTC), 72, ZoneInfo("UTC"), "30 Jan – 2 Feb 2026, UTC"),
    ],
)
def test_the_caption_names_dates_and_zone(start: datetime, hours: int, zone: ZoneInfo, caption: str) -> None:
    assert clock_caption(start, 0, hours * 3600, zone) == caption


def test_elapsed_time_is_counted_in_the_unit_that_suits_it() -> None:
    assert [t.label for t in elapsed_ticks(0, 6 * 3600, 8)] == ["0", "1", "2", "3", "4", "5", "6"]
    assert [t.label for t in elapsed_ticks(0, 45, 5)] == ["0", "10", "20", "30", "40"]
    assert [t.label for t in elapsed_ticks(-3600, 4.5 * 3600, 4)] == ["0", "2", "4"]
    assert elapsed_unit_s(0, 60 * 86400) == 86400


def test_words_and_decimal_sign_are_the_callers() -> None:
    french = Wording(months=("janv.",) * 12, decimal_point=",", short_date="{day} {month}")
    start = datetime(2026, 1, 4, 23, 0, tzinfo=UTC)

    assert [t.label for t in clock_ticks(start, 0, 86400, PARIS, 2, french)] == ["5 janv.", "12:00", "6 janv."]
    assert [t.label for t in elapsed_ticks(0, 2 * 3600, 4, french)] == ["0", "30", "60", "90", "120"]
    assert french.number(-0.04, 1) == "0,0"
    assert french.number(-1.25, 2) == "−1,25"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 s"),
        (59.99, "59 s"),
        (1800, "30 min"),
        (1812, "30 min 12 s"),
        (3600, "1 h"),
        (93784, "1 d 2 h"),
        (1799.9, "29 min 59 s"),
    ],
)
def test_a_duration_is_never_rounded_up(seconds: float, words: str) -> None:
    assert Wording().duration(seconds) == words
