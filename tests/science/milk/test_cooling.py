"""How fast milk was cooled."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.milk.cooling import CoolingRule, judge_cooling, time_to_cool
from haccp.science.ruling import Ruling

# US Grade A ordinance, table 1 (read in a secondary source): 10 °C within 4 h of the start of milking; blend 10 °C
TEN_IN_FOUR_HOURS = CoolingRule(10.0, 4 * 3600.0, blend_c=10.0)
HOUR = 3600.0


def newton(minutes: np.ndarray) -> np.ndarray:
    """Newton's law of cooling from 35 °C in a tank at 3 °C with a time constant of 50 min."""
    return 3.0 + 32.0 * np.exp(-minutes / 50.0)


def test_the_time_to_cool_brackets_newtons_law() -> None:
    minutes = np.arange(0.0, 300.0, 10.0)

    found = time_to_cool(minutes * 60, newton(minutes), 10.0)

    exact_s = 50.0 * math.log(32.0 / 7.0) * 60
    assert found.after_s is not None
    assert found.by_s is not None
    assert found.after_s < exact_s <= found.by_s


def test_milk_that_is_cold_in_time_meets_the_rule() -> None:
    minutes = np.arange(0.0, 300.0, 10.0)

    verdict = judge_cooling(TEN_IN_FOUR_HOURS, minutes * 60, newton(minutes))

    assert verdict.ruling is Ruling.MET
    assert verdict.margin == pytest.approx(4 * HOUR - 80 * 60)


@pytest.mark.parametrize(
    ("hours", "celsius", "now_h", "ruling", "code"),
    [
        ([0, 3, 4.5], [35, 18, 12], 5, Ruling.BREACHED, "cooling.late"),
        ([0, 3], [35, 18], 3, Ruling.AWAITED, "cooling.awaited"),
        ([0, 3], [35, 18], 6, Ruling.UNPROVEN, "cooling.unseen"),
        ([0, 3, 9], [35, 18, 4], 9, Ruling.UNPROVEN, "cooling.unseen"),
        ([0, 3, 5], [35, 6, 11], 5, Ruling.BREACHED, "cooling.blend"),
        ([0, 3, 5], [35, 9.9, 9.9], 5, Ruling.UNPROVEN, "cooling.uncertain"),
        ([], [], 5, Ruling.UNPROVEN, "cooling.unseen"),
    ],
)
def test_what_the_readings_can_tell(
    hours: list[float], celsius: list[float], now_h: float, ruling: Ruling, code: str
) -> None:
    verdict = judge_cooling(
        TEN_IN_FOUR_HOURS,
        np.array(hours, dtype=float) * HOUR,
        np.array(celsius, dtype=float),
        expanded_uncertainty_c=0.5,
        ended_s=now_h * HOUR,
    )

    assert (verdict.ruling, verdict.code) == (ruling, code)


@given(
    st.lists(st.tuples(st.floats(60, 7200), st.floats(0, 36)), min_size=1, max_size=12),
    st.data(),
)
def test_losing_readings_never_turns_unproven_into_met(
    readings: list[tuple[float, float]], data: st.DataObject
) -> None:
    t = np.cumsum([step for step, _ in readings])
    celsius = np.array([c for _, c in readings])
    kept = np.array(data.draw(st.lists(st.booleans(), min_size=len(readings), max_size=len(readings))), dtype=bool)
    now = float(t[-1]) + 1
    rule = CoolingRule(10.0, 4 * HOUR)

    before = judge_cooling(rule, t, celsius, ended_s=now)
    after = judge_cooling(rule, t[kept], celsius[kept], ended_s=now)

    if before.ruling is not Ruling.MET:
        assert after.ruling is not Ruling.MET


def test_an_impossible_rule_is_refused() -> None:
    with pytest.raises(InputError, match="above zero"):
        judge_cooling(CoolingRule(10.0, 0.0), np.zeros(1), np.zeros(1))
    with pytest.raises(ValueError, match="one temperature"):
        time_to_cool(np.zeros(2), np.zeros(1), 10.0)
