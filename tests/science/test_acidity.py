"""Titration, and the course of acidification."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.acidity import convert_acidity, lactic_percent, project
from haccp.science.errors import InputError


def test_titration_of_9_grams_with_tenth_normal_base() -> None:
    # AOAC 947.05 (from memory): 9 g and 0.1 N make 0.1 mL stand for 0.01 %
    assert lactic_percent(1.6, 0.1, 9.0) == pytest.approx(0.160, abs=0.001)


@pytest.mark.parametrize(
    ("unit", "normality"),
    # Definition of the degrees: mL of base of this strength per 100 mL (SH N/4; D N/9; Th N/10 from memory)
    [("°SH", 1 / 4), ("°D", 1 / 9), ("°Th", 1 / 10)],
)
def test_degrees_agree_with_the_titration_that_defines_them(unit: str, normality: float) -> None:
    assert lactic_percent(10.0, normality, 100.0) == pytest.approx(convert_acidity(10.0, unit, "%"), rel=2e-3)


@pytest.mark.parametrize("arguments", [(-1.0, 0.1, 9.0), (1.0, 0.0, 9.0), (1.0, 0.1, 0.0), (float("nan"), 0.1, 9.0)])
def test_an_impossible_titration_is_refused(arguments: tuple[float, float, float]) -> None:
    with pytest.raises(InputError):
        lactic_percent(*arguments)


@given(st.floats(4, 7), st.floats(-1e-3, -1e-5), st.floats(0, 1e4), st.floats(60, 1e4))
def test_a_straight_course_is_projected_onto_itself(start: float, rate: float, first_s: float, step_s: float) -> None:
    points = [(t, start + rate * t) for t in (first_s, first_s + step_s)]
    wanted = start + rate * (first_s + 3 * step_s)

    projection = project(points, wanted)

    assert projection is not None
    assert projection.rate_per_s == pytest.approx(rate, rel=1e-4)
    assert projection.reached_at_s == pytest.approx(first_s + 3 * step_s, rel=1e-4)


def test_a_course_that_leads_away_reaches_nothing() -> None:
    projection = project([(0.0, 5.4), (600.0, 5.5)], 5.3)

    assert projection is not None
    assert projection.reached_at_s is None


def test_one_moment_has_no_course() -> None:
    assert project([(0.0, 6.5)], 5.3) is None
    assert project([(0.0, 6.5), (0.0, 6.4)], 5.3) is None
