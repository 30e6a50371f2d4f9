"""Humidity, days in brief, and neglect."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.climate.care import days_without_a_visit, neglected_days
from haccp.science.climate.days import days_in_brief
from haccp.science.climate.psychrometry import Psychrometer, dew_point_c, relative_humidity, saturation_hpa
from haccp.science.errors import InputError
from haccp.science.trace import Trace
from haccp.science.units import convert

psychrolib.SetUnitSystem(psychrolib.SI)
PARIS = ZoneInfo("Europe/Paris")


def test_the_psychrometer_of_an_army_manual() -> None:
    # US Army TM 5-3610-285-14: dry 68 °F, wet 62 °F, 71 % relative humidity
    dry, wet = (convert("temperature", f, "°F", "°C") for f in (68, 62))

    assert relative_humidity(dry, wet) == pytest.approx(71, abs=1)


def test_a_cool_room() -> None:
    # WMO-No. 8 formula by hand: dry 12 °C, wet 11 °C, 1013.25 hPa, A 6.62·10⁻⁴
    assert relative_humidity(12, 11) == pytest.approx(88.8, abs=0.3)
    # A room whose air stands still wets the bulb less: the same pair is drier
    assert relative_humidity(12, 11, psychrometer=Psychrometer.STILL) < 86


@given(st.floats(2, 35), st.floats(0, 8), st.floats(75_000, 105_000))
def test_humidity_agrees_with_psychrolib(dry: float, depression: float, pressure: float) -> None:
    # psychrolib (ASHRAE 2017) takes the thermodynamic wet bulb, which an aspirated one comes near to
    wet = dry - depression
    if wet < 0:
        return
    expected = psychrolib.GetRelHumFromTWetBulb(dry, wet, pressure) * 100
    if expected < 5:
        return

    assert relative_humidity(dry, wet, pressure_pa=pressure) == pytest.approx(expected, abs=1.5)


@given(st.floats(0, 40), st.floats(5, 100))
def test_the_dew_point_agrees_with_psychrolib(dry: float, humidity: float) -> None:
    expected = psychrolib.GetTDewPointFromRelHum(dry, humidity / 100)
    if expected < 0:
        return  # over ice psychrolib goes another way

    assert dew_point_c(dry, humidity) == pytest.approx(expected, abs=0.1)


@given(st.floats(0, 50))
def test_the_vapour_pressure_agrees_with_psychrolib(celsius: float) -> None:
    assert saturation_hpa(celsius) == pytest.approx(psychrolib.GetSatVapPres(celsius) / 100, rel=3.5e-3)


@given(st.floats(-10, 50), st.floats(1, 100))
def test_saturated_air_dews_at_its_own_temperature(celsius: float, humidity: float) -> None:
    assert dew_point_c(celsius, 100) == pytest.approx(celsius, abs=1e-9)
    assert dew_point_c(celsius, humidity) <= celsius + 1e-9


@pytest.mark.parametrize(
    ("dry", "wet", "words"), [(11, 12, "Exchange"), (2, -1, "freezing"), (35, 5, "wick"), (120, 90, "room")]
)
def test_impossible_pairs_are_refused(dry: float, wet: float, words: str) -> None:
    with pytest.raises(InputError, match=words):
        relative_humidity(dry, wet)


def room(start: datetime, hours: float, step_s: float = 60.0) -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(0, hours * 3600, step_s)
    return t, 11 + 0.5 * np.sin(t / 5000)


def test_no_peak_is_lost_and_the_mean_is_over_time() -> None:
    start = datetime(2026, 6, 1, 22, tzinfo=UTC)  # midnight in Paris
    t, values = room(start, 48)
    values[1000] = 19.7
    trace = Trace(start, t, {"air": values})

    first, second = days_in_brief(trace, "air", PARIS, longest_gap_s=300, first=date(2026, 6, 2), last=date(2026, 6, 3))

    assert first.highest == 19.7
    assert first.highest_at == start + timedelta(minutes=1000)
    assert (first.samples, second.samples) == (1440, 1440)
    assert second.lowest == values[1440:].min()
    assert first.mean == pytest.approx(values[:1440].mean(), abs=1e-3)
    assert first.covered_s == pytest.approx(86400)
    # The last minute of the record is not watched to its end
    assert second.longest_gap_s == pytest.approx(60)


def test_a_gap_and_a_day_without_samples_are_seen() -> None:
    start = datetime(2026, 6, 1, 22, tzinfo=UTC)
    t, values = room(start, 24)
    trace = Trace(start, np.append(t[:300], t[600:]), {"air": np.append(values[:300], values[600:])})

    first, second = days_in_brief(trace, "air", PARIS, longest_gap_s=300, first=date(2026, 6, 2), last=date(2026, 6, 3))

    assert first.longest_gap_s == pytest.approx(301 * 60)
    assert first.covered_s == pytest.approx(86400 - 301 * 60 - 60)
    assert (second.samples, second.lowest, second.mean, second.covered_s) == (0, None, None, 0)
    assert second.longest_gap_s == second.length_s == 86400


def test_a_day_is_as_long_as_its_clock() -> None:
    start = datetime(2026, 3, 28, tzinfo=UTC)
    trace = Trace(start, np.array([0.0]), {"air": np.array([11.0])})

    days = days_in_brief(trace, "air", PARIS, longest_gap_s=300, first=date(2026, 3, 28), last=date(2026, 3, 29))

    assert [day.length_s for day in days] == [86400, 23 * 3600]


@given(st.lists(st.tuples(st.floats(10, 40_000), st.floats(-5, 30)), min_size=1, max_size=40))
def test_the_days_together_hold_every_extreme(points: list[tuple[float, float]]) -> None:
    t = np.cumsum([step for step, _ in points])
    values = np.array([v for _, v in points])
    trace = Trace(datetime(2026, 3, 27, tzinfo=UTC), t, {"air": values})

    days = days_in_brief(trace, "air", PARIS, longest_gap_s=3600, first=date(2026, 3, 27), last=date(2026, 4, 20))

    assert max(d.highest for d in days if d.highest is not None) == values.max()
    assert min(d.lowest for d in days if d.lowest is not None) == values.min()
    assert sum(d.samples for d in days) == t.size
    watched = np.diff(t)
    assert sum(d.covered_s for d in days) == pytest.approx(watched[watched <= 3600].sum(), abs=1e-3)


def test_neglect_begins_the_day_after_care_was_due() -> None:
    done = [date(2026, 6, 3), date(2026, 6, 9)]

    # Turned every two days: due on the 5th, so neglected from the 6th until it was done on the 9th
    found = neglected_days(done, 2, since=date(2026, 6, 1), until=date(2026, 6, 12))

    assert found == [date(2026, 6, d) for d in (6, 7, 8, 12)]


@given(st.sets(st.integers(0, 60)), st.integers(0, 60), st.integers(1, 9))
def test_more_care_is_never_more_neglect(days: set[int], extra: int, every: int) -> None:
    first = date(2026, 6, 1)
    since, until = first, first + timedelta(days=60)
    done = [first + timedelta(days=d) for d in days]

    less = neglected_days([*done, first + timedelta(days=extra)], every, since=since, until=until)

    assert set(less) <= set(neglected_days(done, every, since=since, until=until))


def test_days_without_a_visit() -> None:
    seen = [date(2026, 6, 1), date(2026, 6, 3)]

    assert days_without_a_visit(seen, since=date(2026, 6, 1), until=date(2026, 6, 4)) == [
        date(2026, 6, 2),
        date(2026, 6, 4),
    ]
    with pytest.raises(InputError):
        neglected_days([], 0, since=date(2026, 6, 1), until=date(2026, 6, 2))
