"""Fixed points, comparison, electrodes and drift."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import iapws97

from haccp.science.atmosphere import pressure_pa
from haccp.science.calibration.boiling import boiling_point_at_altitude_c, boiling_point_c
from haccp.science.calibration.comparison import Point, boiling_point, ice_point, judge_found, judge_left
from haccp.science.calibration.drift import Check, drift
from haccp.science.calibration.electrode import (
    Buffer,
    ElectrodeLimits,
    calibrate,
    judge_electrode,
    nernst_mv_per_ph,
    unfit_reason,
)
from haccp.science.errors import InputError
from haccp.science.ruling import Ruling
from haccp.science.units import convert

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


@given(st.floats(45_000, 110_000))
def test_the_boiling_point_is_that_of_the_reference_implementation(station_pa: float) -> None:
    # IAPWS-IF97, region 4, against the iapws package
    assert boiling_point_c(station_pa) == pytest.approx(iapws97._TSat_P(station_pa / 1e6) - 273.15, abs=1e-9)


def test_the_boiling_point_of_the_steam_table() -> None:
    # IAPWS-IF97, table 36 (from memory): 0.1 MPa 372.755919 K
    assert boiling_point_c(100_000) == pytest.approx(372.755919 - 273.15, abs=1e-6)
    # 1 atm on ITS-90
    assert boiling_point_c(101_325) == pytest.approx(99.97, abs=0.005)


@pytest.mark.parametrize(
    ("feet", "fahrenheit"),
    # An extension table of boiling points (read): sea level 212.0 °F, 2 000 ft 208.4, 10 000 ft 193.6
    [(0, 212.0), (500, 211.1), (1000, 210.2), (2000, 208.4), (3000, 206.6), (10_000, 193.6)],
)
def test_the_boiling_point_at_an_altitude(feet: float, fahrenheit: float) -> None:
    found = convert("temperature", boiling_point_at_altitude_c(feet * 0.3048), "°C", "°F")

    assert found == pytest.approx(fahrenheit, abs=0.25)


def test_the_standard_atmosphere() -> None:
    # ICAO standard atmosphere (from memory): 1 000 m 898.75 hPa, 3 000 m 701.09 hPa
    assert pressure_pa(0) == 101_325
    assert pressure_pa(1000) == pytest.approx(89_875, abs=10)
    assert pressure_pa(3000) == pytest.approx(70_109, abs=20)
    with pytest.raises(InputError, match="feet"):
        pressure_pa(8000)


def test_an_ice_point_within_its_tolerance() -> None:
    verdict = judge_found("temperature", [ice_point(0.3)], 0.5)

    assert verdict.ruling is Ruling.MET
    assert verdict.margin == pytest.approx(0.2)
    assert "0.3 °C too high" in verdict.reason


def test_a_thermometer_found_out_and_left_good() -> None:
    point = ice_point(1.4, left_c=0.1)

    assert judge_found("temperature", [point], 0.5).ruling is Ruling.BREACHED
    assert judge_left("temperature", [point], 0.5).ruling is Ruling.MET


def test_altitude_alone_is_too_coarse_for_half_a_degree() -> None:
    exact = boiling_point(98.3, station_pa=95_000)
    coarse = boiling_point(98.3, altitude_m=540)

    assert judge_found("temperature", [exact], 0.5).ruling is Ruling.MET
    assert judge_found("temperature", [coarse], 0.5).ruling is Ruling.UNPROVEN
    with pytest.raises(InputError, match="pressure"):
        boiling_point(98.3)


def test_the_worst_point_rules_and_no_point_proves_nothing() -> None:
    points = [ice_point(0.0), Point(72.0, 71.2, expanded_uncertainty=0.1, label="72 °C")]

    verdict = judge_found("temperature", points, 0.5)

    assert verdict.ruling is Ruling.BREACHED
    assert "72 °C" in verdict.reason
    assert judge_found("temperature", [], 0.5).ruling is Ruling.UNPROVEN


@given(st.floats(-2, 2), st.floats(0, 1), st.floats(0, 1))
def test_a_coarser_comparison_never_turns_unproven_into_met(error: float, doubt: float, more: float) -> None:
    fine = judge_found("temperature", [Point(0.0, error, expanded_uncertainty=doubt)], 0.5)
    coarse = judge_found("temperature", [Point(0.0, error, expanded_uncertainty=doubt + more)], 0.5)

    if fine.ruling is not Ruling.MET:
        assert coarse.ruling is not Ruling.MET


def test_nernsts_slope() -> None:
    # Makers' notes (read): 59.16 mV at 25 °C, about 64 mV at 50 °C and 54 mV at 0 °C
    assert nernst_mv_per_ph(25) == pytest.approx(59.16, abs=0.005)
    assert nernst_mv_per_ph(50) == pytest.approx(64.1, abs=0.1)
    assert nernst_mv_per_ph(0) == pytest.approx(54.2, abs=0.1)


@pytest.mark.parametrize(
    ("mv_7", "mv_4", "ruling"),
    # A maker's two examples (read): −15 and +160 mV works properly, +15 and +160 mV does not
    [(-15.0, 160.0, Ruling.MET), (15.0, 160.0, Ruling.BREACHED)],
)
def test_the_two_electrodes_of_a_makers_note(mv_7: float, mv_4: float, ruling: Ruling) -> None:
    electrode = calibrate(NOON, Buffer(7.01, mv_7), Buffer(4.01, mv_4), 25.0)

    assert electrode.slope_percent == pytest.approx((mv_4 - mv_7) / 3 / 59.16 * 100, abs=0.02)
    # The note accepts slopes from 85 %
    assert judge_electrode(electrode, ElectrodeLimits(slope_low_percent=85.0)).ruling is ruling


def test_a_large_offset_does_not_count() -> None:
    electrode = calibrate(NOON, Buffer(7.0, 45.0), Buffer(4.0, 45.0 + 3 * 58.5), 25.0)

    assert electrode.offset_mv == pytest.approx(45.0)
    assert judge_electrode(electrode).code == "electrode.offset"


@given(st.floats(85, 105), st.floats(-30, 30), st.floats(5, 45), st.floats(3, 10))
def test_an_electrode_reads_back_the_ph_of_its_own_voltage(
    percent: float, offset: float, celsius: float, ph: float
) -> None:
    slope = nernst_mv_per_ph(celsius) * percent / 100
    voltage = {x: offset - slope * (x - 7) for x in (4.0, 7.0, ph)}
    electrode = calibrate(NOON, Buffer(4.0, voltage[4.0]), Buffer(7.0, voltage[7.0]), celsius)

    assert electrode.ph_of(voltage[ph], celsius) == pytest.approx(ph, abs=1e-9)


@pytest.mark.parametrize(
    ("hours", "ph", "words"),
    [(2, 5.3, None), (-1, 5.3, "not calibrated"), (25, 5.3, "1 d 1 h"), (2, 3.2, "outside the buffers")],
)
def test_when_a_reading_counts(hours: float, ph: float, words: str | None) -> None:
    electrode = calibrate(NOON, Buffer(7.0, 2.0), Buffer(4.0, 176.0), 25.0)

    reason = unfit_reason(electrode, NOON + timedelta(hours=hours), ph)

    assert reason is None if words is None else words in str(reason)


def test_no_electrode_and_a_bad_electrode_count_for_nothing() -> None:
    assert unfit_reason(None, NOON, 5.3) is not None
    bad = calibrate(NOON, Buffer(7.0, 2.0), Buffer(4.0, 130.0), 25.0)
    assert "slope" in str(unfit_reason(bad, NOON, 5.3))


def test_buffers_too_near_or_swapped_are_refused() -> None:
    with pytest.raises(InputError, match="apart"):
        calibrate(NOON, Buffer(7.0, 2.0), Buffer(6.9, 8.0), 25.0)
    with pytest.raises(InputError, match="swapped"):
        calibrate(NOON, Buffer(7.0, 176.0), Buffer(4.0, 2.0), 25.0)


def test_drift_counts_what_happened_between_adjustments() -> None:
    year = timedelta(days=365.25)
    checks = [Check(NOON, 0.0, 0.0), Check(NOON + year, 0.2, 0.0), Check(NOON + 2 * year, 0.2, 0.1)]

    found = drift(checks, 0.5)

    assert found is not None
    assert found.per_year == pytest.approx(0.2)
    assert found.out_at is not None
    # (0.5 − 0.1) / 0.2 per year: two years on
    assert abs(found.out_at - (NOON + 4 * year)) < timedelta(seconds=1)


def test_drift_needs_two_checks_in_order() -> None:
    assert drift([Check(NOON, 0.0, 0.0)], 0.5) is None
    with pytest.raises(InputError, match="order"):
        drift([Check(NOON, 0.0, 0.0), Check(NOON - timedelta(days=1), 0.0, 0.0)], 0.5)
    steady = drift([Check(NOON, 0.1, 0.1), Check(NOON + timedelta(days=9), 0.1, 0.1)], 0.5)
    assert steady is not None
    assert steady.out_at is None
