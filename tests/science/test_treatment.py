"""The course of a heat treatment, and the band of past makes."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.acidity import band_of
from haccp.science.heat.treatment import course_of, lethality_of
from haccp.science.trace import Trace
from tests.science.vat_log import VAT_LOG_C, VAT_LOG_MIN

AT = datetime(2026, 3, 1, tzinfo=UTC)
VAT = Trace(AT, np.array(VAT_LOG_MIN) * 60.0, {"milk": np.array(VAT_LOG_C)})


def test_the_vat_log_held_too_short_though_its_lethality_would_do() -> None:
    """A hand-reckoned vat log: 25.83 min at or above 63 °C, worth 39.78 min at z = 4.3286 °C in closed form."""
    course = course_of(VAT, ("milk",), 63.0)
    assert course.longest_s / 60 == pytest.approx(25.83, abs=0.01)
    assert course.come_up_s == pytest.approx(600.0)
    assert course.cool_down_s == pytest.approx((40 - 35.83) * 60, abs=1)
    assert (course.lowest_c, course.highest_c) == (63.0, 63.5)
    lethality = lethality_of(VAT, ("milk",), reference_c=63.0, z_c=4.3286)
    assert lethality.f_s / 60 == pytest.approx(39.78, abs=0.02)


def test_the_lowest_probe_counts_and_uncertainty_lowers_what_is_proven() -> None:
    t = np.arange(0.0, 2401.0, 10.0)
    warm, cool = 64.0 + 0.05 * np.sin(t / 60), 63.4 + 0.05 * np.sin(t / 70)
    trace = Trace(AT, t, {"warm": warm, "cool": cool, "air": np.full(t.shape, 66.5) + 0.01 * np.sin(t)})
    course = course_of(trace, ("warm", "cool"), 63.0, expanded_uncertainty_c=0.2, air_space=("air",))
    assert course.lowest_c == pytest.approx(63.35, abs=0.01)
    assert course.proven_s == pytest.approx(2400.0)
    assert course.air_space_above_c == pytest.approx(3.49, abs=0.01)
    assert course_of(trace, ("warm", "cool"), 63.0, expanded_uncertainty_c=0.6).proven_s == 0.0
    alone = lethality_of(trace, ("warm",), reference_c=63.0).f_s
    assert lethality_of(trace, ("warm", "cool"), reference_c=63.0).f_s < alone
    # U of 4.33 °C at z = 4.33 °C: a tenth
    assert lethality_of(trace, ("warm",), reference_c=63.0, expanded_uncertainty_c=4.33).f_s == pytest.approx(
        alone / 10
    )


@given(st.integers(60, 1200))
def test_a_longer_gap_never_makes_the_proven_hold_longer(gap_s: int) -> None:
    t = np.arange(0.0, 3601.0, 10.0)
    milk = 64.0 + 0.05 * np.sin(t / 60)
    whole = course_of(Trace(AT, t, {"milk": milk}), ("milk",), 63.0).proven_s
    broken = milk.copy()
    broken[(t > 1000) & (t < 1000 + gap_s)] = np.nan
    course = course_of(Trace(AT, t, {"milk": broken}), ("milk",), 63.0)
    assert course.proven_s <= whole
    assert course.longest_s == pytest.approx(3600.0)  # with the line drawn across, which proves nothing
    assert course.unproven_s >= gap_s - 20


def test_the_band_lies_between_the_lowest_and_the_highest_of_past_makes() -> None:
    curves = [[(0.0, 6.6 + n), (3600.0, 6.0 + n), (7200.0, 5.0 + n)] for n in (0.0, 0.1, 0.2)]
    band = band_of(curves)
    assert band is not None
    assert band.at(3600.0) == pytest.approx((6.0, 6.2))
    assert band.at(1800.0) == pytest.approx((6.3, 6.5))
    assert band.at(9000.0) is None
    assert band_of(curves[:2]) is None
    assert band_of([[(0.0, 6.6)], *curves[:2]]) is None
