"""Lethality integrals and log reductions."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from haccp.science.heat.lethality import (
    THERMAL_DEATH,
    equal_hold_s,
    lethality_even_s,
    lethality_s,
    log_reductions,
    log_reductions_of_hold,
    z_between,
)
from haccp.science.trace import FloatArray
from tests.science.vat_log import VAT_LOG_C, VAT_LOG_MIN

Z_LEGAL = 4.3286  # °C, from the pairs of 21 CFR 1240.61: 63 °C/1800 s and 72 °C/15 s


def arrays(points: list[tuple[float, float]]) -> tuple[FloatArray, FloatArray]:
    """Steps in s and temperatures in °C, as sample times and values."""
    return np.cumsum([step for step, _ in points]), np.array([temperature for _, temperature in points])


POINTS = st.lists(st.tuples(st.floats(0.1, 900), st.floats(20, 95)), min_size=2, max_size=40)


def test_z_implied_by_the_legal_pairs() -> None:
    # 21 CFR 1240.61(b): 63 °C/30 min and 72 °C/15 s; literature gives 4.34 °C (Cerf and Condron 2006)
    assert z_between(63.0, 1800.0, 72.0, 15.0) == pytest.approx(4.3286, abs=0.001)
    # One z does not reproduce the table: 72 °C/15 s and 89 °C/1 s
    assert z_between(72.0, 15.0, 89.0, 1.0) == pytest.approx(14.5, abs=0.05)


@pytest.mark.parametrize(("temperature_c", "seconds"), [(65.0, 621.2), (70.0, 43.46), (74.0, 5.177)])
def test_holds_equal_to_72_degrees_for_15_seconds(temperature_c: float, seconds: float) -> None:
    # Worked out by hand from 21 CFR 1240.61(b) and z = 4.3286 °C
    assert equal_hold_s(temperature_c, 72.0, 15.0, Z_LEGAL) == pytest.approx(seconds, rel=1e-3)


def test_vat_log_has_its_lethality_in_closed_form() -> None:
    # Ball and Bigelow's integral (from memory), closed form on straight segments, worked out by hand
    minutes = lethality_s(VAT_LOG_MIN * 60, VAT_LOG_C, 63.0, Z_LEGAL) / 60

    assert minutes == pytest.approx(39.78, abs=0.02)


def test_listeria_after_bradshaw() -> None:
    # Bradshaw et al. 1985, J Food Prot 48:743: D71.7 = 0.9 s, z = 6.3 °C
    listeria = THERMAL_DEATH["listeria_monocytogenes"]

    assert log_reductions_of_hold(listeria, 71.7, 15.0) == pytest.approx(16.67, rel=5e-3)
    assert listeria.d_at(63.0) == pytest.approx(21.64, rel=5e-3)
    assert log_reductions_of_hold(listeria, 63.0, 1800.0) == pytest.approx(83.2, rel=5e-3)


def test_paratuberculosis_after_pearce() -> None:
    # Pearce et al. 2001, AEM 67:3964: D63 15.0 s, D66 5.9 s, D72 < 2.03 s; more than 7 log in 15 s at 72 °C
    pearce = THERMAL_DEATH["mycobacterium_paratuberculosis"]

    assert log_reductions_of_hold(replace(pearce, d_s=2.03, reference_c=72.0), 72.0, 15.0) == pytest.approx(
        7.39, abs=0.01
    )
    assert z_between(63.0, 15.0, 66.0, 5.9) == pytest.approx(7.40, abs=0.01)
    # The fitted line of the paper agrees with both figures within their spread (5.9 ± 0.7 s)
    assert pearce.d_at(66.0) == pytest.approx(5.9, abs=1.4)
    assert log_reductions_of_hold(pearce, 72.0, 15.0) > 7


def test_every_death_curve_names_its_source_and_how_it_is_known() -> None:
    for death in THERMAL_DEATH.values():
        assert death.source
        assert death.known in ("read", "memory")


def test_log_reductions_of_a_steady_trace_are_those_of_the_hold() -> None:
    listeria = THERMAL_DEATH["listeria_monocytogenes"]
    t = np.arange(0.0, 1801.0)

    assert log_reductions(listeria, t, np.full_like(t, 63.0)) == pytest.approx(83.2, rel=5e-3)


@given(POINTS, st.floats(3, 30))
def test_the_closed_form_agrees_with_numerical_quadrature(points: list[tuple[float, float]], z_c: float) -> None:
    t, temperature = arrays(points)
    # scipy's adaptive quadrature, segment by segment
    expected = sum(
        quad(lambda s: 10 ** ((np.interp(s, t, temperature) - 63.0) / z_c), a, b, epsabs=0, epsrel=1e-10)[0]
        for a, b in pairwise(t)
    )

    assert lethality_s(t, temperature, 63.0, z_c) == pytest.approx(expected, rel=1e-7)


@given(POINTS, st.data())
def test_a_warmer_trace_never_loses_lethality(points: list[tuple[float, float]], data: st.DataObject) -> None:
    t, temperature = arrays(points)
    rises = data.draw(st.lists(st.floats(0, 10), min_size=len(points), max_size=len(points)))

    cooler = lethality_s(t, temperature, 63.0, 6.3)

    assert lethality_s(t, temperature + np.array(rises), 63.0, 6.3) >= cooler * (1 - 1e-12)


@given(POINTS, st.floats(0.01, 0.99))
def test_splitting_segments_changes_no_lethality(points: list[tuple[float, float]], part: float) -> None:
    t, temperature = arrays(points)
    finer = np.sort(np.concatenate([t, t[:-1] + part * np.diff(t)]))

    split = lethality_s(finer, np.interp(finer, t, temperature), 63.0, 6.3)

    assert split == pytest.approx(lethality_s(t, temperature, 63.0, 6.3), rel=1e-9)


def test_a_trace_longer_than_one_chunk_sums_to_the_same() -> None:
    t = np.arange(0.0, 200_001.0)
    temperature = 60.0 + 5.0 * np.sin(t / 500.0)
    # Independent: trapezoids on a trace this smooth are right to a few parts in a million
    expected = np.trapezoid(10 ** ((temperature - 63.0) / 6.3), t)

    assert lethality_s(t, temperature, 63.0, 6.3) == pytest.approx(expected, rel=1e-5)


def test_a_gap_counts_for_nothing_when_asked() -> None:
    t, temperature = np.array([0.0, 60.0, 660.0, 720.0]), np.full(4, 63.0)

    assert lethality_s(t, temperature, 63.0, 6.3, max_gap_s=120.0) == pytest.approx(120.0)
    assert lethality_s(t, temperature, 63.0, 6.3) == pytest.approx(720.0)


def test_missing_samples_are_passed_over_and_never_poison_the_sum() -> None:
    t, temperature = np.array([0.0, 30.0, 60.0]), np.array([63.0, np.nan, 63.0])

    assert lethality_s(t, temperature, 63.0, 6.3) == pytest.approx(60.0)
    assert lethality_s(t, temperature, 63.0, 6.3, max_gap_s=40.0) == 0.0
    assert lethality_s(t[:0], temperature[:0], 63.0, 6.3) == 0.0


def test_bad_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="one temperature"):
        lethality_s(np.zeros(3), np.zeros(2), 63.0, 6.3)
    with pytest.raises(ValueError, match="above zero"):
        lethality_s(np.arange(3.0), np.zeros(3), 63.0, 0.0)
    with pytest.raises(ValueError, match="different"):
        z_between(63.0, 15.0, 63.0, 10.0)


def test_the_input_arrays_are_left_alone() -> None:
    t, temperature = np.arange(3.0), np.array([62.0, 63.0, 64.0])

    lethality_s(t, temperature, 63.0, 6.3)

    assert temperature.tolist() == [62.0, 63.0, 64.0]


@given(
    st.lists(st.tuples(st.floats(0.1, 900), st.one_of(st.floats(20, 95), st.just(float("nan")))), max_size=60),
    st.integers(1, 7),
)
def test_chunks_of_any_size_give_the_same_sum(points: list[tuple[float, float]], chunk: int) -> None:
    t, temperature = arrays(points) if points else (np.array([]), np.array([]))
    present = np.isfinite(temperature)
    whole = lethality_s(t[present], temperature[present], 63.0, 6.3)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("haccp.science.heat.lethality._CHUNK", chunk)
        assert lethality_s(t, temperature, 63.0, 6.3) == pytest.approx(whole, rel=1e-12)


@given(
    st.lists(st.tuples(st.floats(0.1, 900), st.one_of(st.floats(20, 95), st.just(float("nan")))), max_size=60),
    st.integers(2, 9),
    st.sampled_from([50.0, float("inf")]),
)
def test_the_quick_way_for_long_traces_keeps_six_digits_of_the_exact_one(
    points: list[tuple[float, float]], chunk: int, gap_s: float
) -> None:
    t, temperature = arrays(points) if points else (np.array([]), np.array([]))
    exact = lethality_s(t, temperature, 63.0, 6.3, max_gap_s=gap_s)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("haccp.science.heat.lethality._CHUNK", chunk)
        patch.setattr("haccp.science.heat.lethality._MANY", 0)
        assert lethality_s(t, temperature, 63.0, 6.3, max_gap_s=gap_s) == pytest.approx(exact, rel=1e-6)


def test_a_long_trace_keeps_seven_digits_of_numpy_s_own_sum() -> None:
    temperature = 63.0 + 2.0 * np.sin(np.arange(600_001) / 3000.0)
    expected = np.trapezoid(10 ** ((temperature - 63.0) / 4.33))

    assert lethality_even_s(temperature, 1.0, 63.0, 4.33) == pytest.approx(expected, rel=1e-7)
    # Trapezoids exceed the exact integral by d²/12 at most: a few parts in 10⁹ here
    assert lethality_s(np.arange(600_001.0), temperature, 63.0, 4.33) == pytest.approx(expected, rel=1e-7)


def test_even_samples_give_the_plain_sum_less_half_its_ends() -> None:
    temperature = 63.0 + 2.0 * np.sin(np.arange(100_001) / 500.0)
    rate = 10 ** ((temperature - 63.0) / 4.33)

    quick = lethality_even_s(temperature, 0.5, 63.0, 4.33)

    # NumPy's own trapezoids, and the exact integral within d²/12 (d = ln10 × 0.004 °C / 4.33 °C)
    assert quick == pytest.approx(np.trapezoid(rate, dx=0.5), rel=1e-12)
    exact = lethality_s(np.arange(100_001) * 0.5, temperature, 63.0, 4.33)
    assert exact <= quick <= exact * (1 + (np.log(10) * 0.004 / 4.33) ** 2 / 12)


def test_even_samples_leave_no_room_for_a_gap() -> None:
    with pytest.raises(ValueError, match="missing"):
        lethality_even_s(np.array([63.0, np.nan, 63.0]), 1.0, 63.0, 4.33)
    with pytest.raises(ValueError, match="above zero"):
        lethality_even_s(np.array([63.0, 63.0]), 0.0, 63.0, 4.33)
    assert lethality_even_s(np.array([63.0]), 1.0, 63.0, 4.33) == 0.0
