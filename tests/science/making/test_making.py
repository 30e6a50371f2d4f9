"""Set time, doses, rennet, press, salt and yield."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.making.doses import US_TEASPOON_ML, Spoons, in_spoons, in_spoons_of_powder, scale_dose
from haccp.science.making.flocculation import set_time
from haccp.science.making.pressing import force_n, mass_for_kg, pressure_pa, round_area_m2, square_area_m2
from haccp.science.making.rennet import rennet_for, same_activity, soxhlet_dose, soxhlet_strength
from haccp.science.making.salting import salt_for_kg, salt_percent
from haccp.science.making.yields import at_moisture, casein_from_protein, van_slyke, weight_loss_percent, yield_of
from haccp.science.units import spell_duration

UNITS = pint.UnitRegistry()


def test_set_time_from_flocculation() -> None:
    # Common practice, no source: 13 min 08 s × 4 = 52 min 32 s, so 39 min 24 s are still to go
    found = set_time(13 * 60 + 8, 4)

    assert spell_duration(found.total_s) == "52 min 32 s"
    assert spell_duration(found.remaining_s) == "39 min 24 s"
    assert found.left_s(13 * 60 + 8) == found.remaining_s
    assert found.left_s(3600) < 0


@pytest.mark.parametrize(("flocculation_s", "multiplier"), [(30, 3), (math.nan, 3), (600, 0.5), (600, 40)])
def test_impossible_set_times_are_refused(flocculation_s: float, multiplier: float) -> None:
    with pytest.raises(InputError):
        set_time(flocculation_s, multiplier)


def test_a_dose_grows_with_the_milk() -> None:
    assert scale_dose(2.5, 8, 60) == pytest.approx(18.75)
    with pytest.raises(InputError, match="vat"):
        scale_dose(2.5, 8, 0)


def test_the_teaspoon_is_that_of_pint() -> None:
    # 1 gal (US) = 231 in³ (NIST SP 811), 768 teaspoons; pint as an independent register of units
    assert UNITS.Quantity(1, "teaspoon").to("mL").magnitude == pytest.approx(US_TEASPOON_ML, rel=1e-9)


@pytest.mark.parametrize(
    ("volume_ml", "spoons", "text"),
    [
        (5.0, Spoons.METRIC, "1 tsp"),
        (15.0, Spoons.METRIC, "1 tbsp"),
        (18.75, Spoons.METRIC, "1 tbsp + 1/2 + 1/4 tsp"),
        (1.25, Spoons.METRIC, "1/4 tsp"),
        (0.155, Spoons.US, "1/32 tsp"),
        (US_TEASPOON_ML * 1.5, Spoons.US, "1 + 1/2 tsp"),
    ],
)
def test_spoon_measures_in_words(volume_ml: float, spoons: Spoons, text: str) -> None:
    assert in_spoons(volume_ml, spoons).text == text


@given(st.floats(0.2, 500), st.sampled_from(Spoons))
def test_a_spoon_measure_is_near_and_says_how_near(volume_ml: float, spoons: Spoons) -> None:
    found = in_spoons(volume_ml, spoons)

    assert found.volume_ml == pytest.approx(volume_ml * (1 + found.error_percent / 100))
    assert abs(found.volume_ml - volume_ml) <= 5.0 / 16 + 1e-9


def test_what_no_spoon_can_hold_is_refused() -> None:
    with pytest.raises(InputError, match="syringe"):
        in_spoons(0.01)
    assert in_spoons_of_powder(2.5, 0.5, Spoons.METRIC).text == "1 tsp"


def test_rennet_goes_by_its_activity() -> None:
    # One maker's published example: 10 000 L, 165 IMCU and 38.26 IMCU per litre (IMCU per g) take about 2.32 kg
    assert rennet_for(10_000, 38.26, 165) / 1000 == pytest.approx(2.319, abs=0.001)
    # Twice the strength, half the dose
    assert same_activity(3.0, 200, 400) == 1.5


def test_soxhlet_strength_is_the_milk_clotted_in_forty_minutes() -> None:
    # Soxhlet's definition (from memory): 1 part of 1 : 15 000 clots 15 000 parts in 40 min at 35 °C
    assert soxhlet_strength(15_000, 1, 2400) == pytest.approx(15_000)
    # Ten times the rennet clots in a tenth of the time
    assert soxhlet_strength(1500, 1, 240) == pytest.approx(15_000)
    assert soxhlet_dose(15_000, 15_000, 2400) == pytest.approx(1.0)


@given(st.floats(0.1, 500), st.floats(0.02, 1.0))
def test_press_load_agrees_with_pint(mass_kg: float, diameter_m: float) -> None:
    force = UNITS.Quantity(mass_kg, "kilogram_force").to("newton")
    area = UNITS.Quantity(math.pi * (diameter_m / 2) ** 2, "m**2")

    assert force_n(mass_kg) == pytest.approx(force.magnitude, rel=1e-9)
    assert pressure_pa(force_n(mass_kg), round_area_m2(diameter_m)) == pytest.approx(
        (force / area).to("pascal").magnitude, rel=1e-9
    )


@given(st.floats(0.1, 500), st.floats(0.02, 1.0), st.floats(1, 10))
def test_the_mass_for_a_pressure_brings_that_pressure(mass_kg: float, side_m: float, advantage: float) -> None:
    area = square_area_m2(side_m, side_m, cheeses=2)
    pressure = pressure_pa(force_n(mass_kg, advantage=advantage), area)

    assert mass_for_kg(pressure, area, advantage=advantage) == pytest.approx(mass_kg)


def test_salt_in_per_cent_of_the_curd() -> None:
    assert salt_percent(0.2, 10) == pytest.approx(2.0)
    assert salt_for_kg(2.0, 12.5) == pytest.approx(0.25)
    with pytest.raises(InputError, match="plausible"):
        salt_for_kg(60, 10)
    with pytest.raises(InputError, match="units"):
        salt_percent(20, 10)


def test_yield_of_eight_litres() -> None:
    # Common practice, no source: 1.185 kg from 8 L is about 14.8 %
    found = yield_of(1.185, 8, density_kg_per_l=1.03)

    assert found.kg_per_100_l == pytest.approx(14.8, abs=0.05)
    assert found.percent == pytest.approx(14.38, abs=0.01)
    with pytest.raises(InputError, match="more than its milk"):
        yield_of(1185, 8)


def test_van_slyke_as_guelph_gives_it() -> None:
    # University of Guelph, Food Science, “Yield prediction”: F 3.6, C 2.5, M 0.37; by hand 5.748 × 1.09 / 0.63 = 9.945
    found = van_slyke(3.6, 2.5, 37)

    assert found.percent == pytest.approx(9.945, abs=0.001)
    assert found.warnings == ()
    assert van_slyke(3.6, 2.5, 55).warnings
    assert van_slyke(7.5, 5.0, 37).warnings


def test_yields_are_compared_at_one_moisture() -> None:
    assert at_moisture(10.0, 40.0, 37.0) == pytest.approx(9.524, abs=0.001)
    assert casein_from_protein(3.2) == pytest.approx(2.496)
    assert weight_loss_percent(2.0, 1.7) == pytest.approx(15.0)
