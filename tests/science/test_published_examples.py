"""Tables and worked examples of handbooks, across the rooms of the computation. From memory, unless it says read."""

import math

import numpy as np
import pytest
from scipy.stats import binom, multinomial

from haccp.science.atmosphere import pressure_pa
from haccp.science.calibration.boiling import boiling_point_at_altitude_c
from haccp.science.calibration.electrode import nernst_mv_per_ph
from haccp.science.climate.psychrometry import saturation_hpa
from haccp.science.composition.salt import fat_in_dry_matter, moisture_in_fat_free_cheese
from haccp.science.composition.water_activity import of_salt_solution
from haccp.science.guard import conformance_probability
from haccp.science.heat.lethality import equal_hold_s, lethality_s
from haccp.science.making.yields import van_slyke
from haccp.science.sampling.curves import accept_three_class, accept_two_class


@pytest.mark.parametrize(
    ("guard_in_u_expanded", "false_acceptance"),
    # ILAC-G8:09/2019, table of decision rules: guard bands of 0, U, 1.5 U and 3 U against the risk of false acceptance
    [(0.0, 0.5), (1.0, 0.025), (1.5, 0.0016), (3.0, 1e-6)],
)
def test_the_risk_of_false_acceptance_is_that_of_the_guidance(
    guard_in_u_expanded: float, false_acceptance: float
) -> None:
    assert 1 - conformance_probability(guard_in_u_expanded * 0.4, 0.4) <= false_acceptance


@pytest.mark.parametrize(
    ("n", "c", "share", "accepted"),
    # ICMSF, Microorganisms in Foods 2 and 7, probabilities of acceptance of two-class plans, to two decimals
    [(5, 0, 0.02, 0.90), (5, 0, 0.30, 0.17), (10, 0, 0.10, 0.35), (15, 0, 0.10, 0.21), (20, 0, 0.05, 0.36),
     (60, 0, 0.02, 0.30), (5, 1, 0.20, 0.74), (5, 2, 0.30, 0.84)],
)  # fmt: skip
def test_two_class_plans_pass_as_often_as_the_table_says(n: int, c: int, share: float, accepted: float) -> None:
    found = float(accept_two_class(n, c, share))
    assert found == pytest.approx(accepted, abs=0.005)
    assert found == pytest.approx(binom.cdf(c, n, share), rel=1e-9)


@pytest.mark.parametrize(
    ("n", "c", "marginal", "defective", "accepted"),
    # ICMSF, as above, three-class plans
    [(5, 3, 0.10, 0.05, 0.77), (5, 2, 0.20, 0.0, 0.94), (5, 1, 0.20, 0.05, 0.55), (10, 3, 0.20, 0.0, 0.88)],
)
def test_three_class_plans_pass_as_often_as_the_table_says(
    n: int, c: int, marginal: float, defective: float, accepted: float
) -> None:
    found = float(accept_three_class(n, c, marginal, defective))
    assert found == pytest.approx(accepted, abs=0.006)
    shares = [1 - marginal - defective, marginal, defective]
    assert found == pytest.approx(sum(multinomial.pmf([n - i, i, 0], n, shares) for i in range(c + 1)), rel=1e-9)


@pytest.mark.parametrize(
    ("molality", "activity"),
    # Scott 1957, Advances in Food Research 7, from Robinson and Stokes: NaCl in water at 25 °C
    [(0.30, 0.990), (0.61, 0.980), (1.20, 0.960), (1.77, 0.940), (2.31, 0.920), (2.83, 0.900), (3.33, 0.880)],
)
def test_salt_water_holds_the_activity_of_the_table(molality: float, activity: float) -> None:
    assert of_salt_solution(molality) == pytest.approx(activity, abs=0.001)


@pytest.mark.parametrize(
    ("celsius", "minutes", "units"),
    # Pasteurisation units, EBC: 1 PU is a minute at 60 °C, PU = t · 1.393^(T − 60)
    [(60.0, 15.0, 15.0), (62.0, 10.0, 19.4), (64.0, 5.0, 18.8), (58.0, 20.0, 10.3)],
)
def test_pasteurisation_units_are_those_of_the_brewers_formula(celsius: float, minutes: float, units: float) -> None:
    z_c = 1 / math.log10(1.393)
    t = np.linspace(0, minutes * 60, 50)
    assert lethality_s(t, np.full(t.size, celsius), 60.0, z_c) / 60 == pytest.approx(units, abs=0.05)


def test_a_sterilisation_value_is_that_of_the_canners() -> None:
    """Stumbo: F0 = 10^((115 − 121.1)/10) min for each minute at 115 °C, z = 10 °C: ten minutes are worth 2.45."""
    t = np.linspace(0, 600, 601)
    assert lethality_s(t, np.full(601, 115.0), 121.1, 10.0) / 60 == pytest.approx(2.45, abs=0.01)
    # Kessler's pasteurisation effect P* is 1 at 72 °C for 15 s with z = 8 °C: at 85 °C 0.356 s do the same
    assert equal_hold_s(85.0, 72.0, 15.0, 8.0) == pytest.approx(15 / 10 ** (13 / 8))


@pytest.mark.parametrize(
    ("celsius", "millivolts"), [(0, 54.20), (10, 56.18), (20, 58.17), (25, 59.16), (30, 60.15), (50, 64.12)]
)
def test_the_slope_of_an_electrode_is_that_of_the_makers_tables(celsius: float, millivolts: float) -> None:
    assert nernst_mv_per_ph(celsius) == pytest.approx(millivolts, abs=0.01)


@pytest.mark.parametrize(
    ("metres", "pascals"), [(0, 101_325), (500, 95_461), (1000, 89_876), (2000, 79_501), (3000, 70_121)]
)
def test_the_air_of_a_hill_is_that_of_the_standard_atmosphere(metres: float, pascals: float) -> None:
    """ICAO Doc 7488, by geopotential altitude."""
    assert pressure_pa(metres) == pytest.approx(pascals, rel=2e-4)


@pytest.mark.parametrize(
    ("feet", "fahrenheit"), [(0, 212.0), (500, 211.1), (1000, 210.2), (2000, 208.4), (3000, 206.6)]
)
def test_water_boils_at_the_temperatures_of_the_extension_s_table(feet: float, fahrenheit: float) -> None:
    """Read in an extension service's table of altitudes."""
    assert boiling_point_at_altitude_c(feet * 0.3048) * 1.8 + 32 == pytest.approx(fahrenheit, abs=0.25)


@pytest.mark.parametrize(("celsius", "hectopascals"), [(0, 6.11), (10, 12.27), (20, 23.37), (30, 42.43)])
def test_the_pressure_of_saturated_vapour_is_that_of_the_meteorological_tables(
    celsius: float, hectopascals: float
) -> None:
    """Smithsonian Meteorological Tables, over water; the formula of WMO-No. 8 lies 0.2 % below them at 30 °C."""
    assert saturation_hpa(celsius) == pytest.approx(hectopascals, rel=3e-3)


def test_the_yield_of_a_cheddar_is_that_of_the_formula_worked_by_hand() -> None:
    """Van Slyke and Price: (0.93 × 3.6 + 2.5 − 0.1) × 1.09 / (1 − 0.37) = 9.945 kg from 100 kg."""
    assert van_slyke(3.6, 2.5, 37.0).percent == pytest.approx(9.945, abs=0.001)


def test_the_composition_of_a_cheddar_is_graded_as_the_trade_does() -> None:
    """Lawrence and Gilles: 36 % moisture and 33 % fat are 53.7 % moisture in the fat-free cheese, 51.6 % fat in dry."""
    assert moisture_in_fat_free_cheese(36.0, 33.0) == pytest.approx(53.7, abs=0.05)
    assert fat_in_dry_matter(33.0, 36.0) == pytest.approx(51.6, abs=0.05)
