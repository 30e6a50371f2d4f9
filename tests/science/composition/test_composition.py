"""Salt in moisture, water activity, brine, and the pH × water activity tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.composition import brine
from haccp.science.composition.growth_support import (
    Doubt,
    ListeriaClass,
    Tcs,
    food_code_table_a,
    food_code_table_b,
    listeria_class,
)
from haccp.science.composition.salt import (
    fat_in_dry_matter,
    moisture_in_fat_free_cheese,
    salt_in_moisture,
    salt_in_water_phase,
    salt_molality,
)
from haccp.science.composition.water_activity import (
    from_salt,
    of_mould_ripened_cheese,
    of_processed_cheese,
    of_salt_solution,
    of_unripe_cheese,
    salt_in_moisture_for,
)
from haccp.science.errors import InputError


def test_water_activity_after_marcos() -> None:
    # Marcos et al. 1981, J Dairy Sci 64: aw = 1 − 0.033 m; molalities worked out by hand
    assert salt_molality(2.0, 55) == pytest.approx(0.6222, abs=5e-5)
    assert salt_in_moisture(2.0, 55) == pytest.approx(3.636, abs=5e-4)
    assert from_salt(2.0, 55).value == pytest.approx(0.9795, abs=5e-4)
    assert from_salt(3.5, 40).value == pytest.approx(0.9506, abs=5e-4)
    assert from_salt(3.5, 40).within_range


def test_a_hard_cheese_is_outside_the_equation_of_marcos() -> None:
    found = from_salt(1.8, 37)

    assert not found.within_range
    assert "Outside the equation" in found.warnings[0]


def test_water_activity_of_unripe_cheese() -> None:
    # J Dairy Res 1990: aw = 0.9719 − 0.0044 [NaCl] + 0.0041 pH; 2.0 g per 100 g water at pH 4.7 by hand
    assert of_unripe_cheese(2.0, 4.7).value == pytest.approx(0.9824, abs=2e-4)
    assert not of_unripe_cheese(2.0, 8.5).within_range


def test_water_activity_of_processed_and_mould_ripened_cheese() -> None:
    # The regressions of the two abstracts, by hand
    assert of_processed_cheese(10.0).value == pytest.approx(0.9631)
    assert of_mould_ripened_cheese(8.0, 2.0).value == pytest.approx(0.9484)


def test_salt_water_after_robinson_and_stokes() -> None:
    # Osmotic coefficients of Robinson and Stokes (from memory): 1 mol/kg 0.9669, 3 mol/kg 0.8932
    assert of_salt_solution(1.0) == pytest.approx(0.9669)
    assert of_salt_solution(3.0) == pytest.approx(0.8932)
    # Raoult's law for a fully dissociated salt is close where it is dilute
    assert of_salt_solution(0.1) == pytest.approx(55.51 / (55.51 + 0.2), abs=5e-4)
    with pytest.raises(InputError):
        of_salt_solution(7.0)


@given(st.floats(0.5, 5), st.floats(40, 60))
def test_planned_salt_brings_the_activity_that_was_planned(salt: float, moisture: float) -> None:
    found = from_salt(salt, moisture)

    assert salt_in_moisture_for(found.value) == pytest.approx(salt_in_moisture(salt, moisture))


def test_shares_of_a_cheddar() -> None:
    # 37 % moisture, 33 % fat, 1.7 % salt, by hand
    assert moisture_in_fat_free_cheese(37, 33) == pytest.approx(55.22, abs=0.01)
    assert fat_in_dry_matter(33, 37) == pytest.approx(52.38, abs=0.01)
    assert salt_in_water_phase(1.7, 37) == pytest.approx(4.393, abs=0.001)


@pytest.mark.parametrize(("salt", "moisture"), [(2, 0), (-1, 50), (60, 50), (2, 101)])
def test_impossible_compositions_are_refused(salt: float, moisture: float) -> None:
    with pytest.raises(InputError):
        salt_in_moisture(salt, moisture)


@pytest.mark.parametrize(
    ("percent", "at_20", "at_25"),
    # 20 °C: Poradnik fizykochemiczny, WNT 1974. 25 °C: Perry's Chemical Engineers' Handbook, from memory
    [(10, 1070.7, 1068.9), (20, 1147.8, 1145.3), (2, 1012.2, None), (18, 1131.9, None), (26, 1197.2, None)],
)
def test_brine_density_is_that_of_the_tables(percent: float, at_20: float, at_25: float | None) -> None:
    assert brine.density_kg_m3(percent) == pytest.approx(at_20)
    if at_25 is not None:
        assert brine.density_kg_m3(percent, 25.0) == pytest.approx(at_25, abs=0.2)


@given(st.floats(1, 26), st.floats(5, 30))
def test_brine_strength_is_read_back_from_its_density(percent: float, temperature_c: float) -> None:
    density = brine.density_kg_m3(percent, temperature_c)

    assert brine.salt_percent(density, temperature_c) == pytest.approx(percent, abs=1e-6)


def test_salt_for_a_weak_brine_closes_the_balance() -> None:
    added = brine.salt_to_add_kg(100, 18, 20)

    assert (18 + added) / (100 + added) == pytest.approx(0.20)
    with pytest.raises(InputError, match="hydrometer"):
        brine.salt_percent(1.1)
    with pytest.raises(InputError, match="20 °C"):
        brine.salt_percent(1100, 60)


@pytest.mark.parametrize(
    ("ph", "aw", "expected"),
    [
        # FDA Food Code 1-201.10, interaction table B
        (4.6, 0.91, Tcs.NOT_NEEDED),
        (4.7, 0.91, Tcs.ASSESSMENT),
        (4.19, 0.99, Tcs.NOT_NEEDED),
        (4.2, 0.93, Tcs.ASSESSMENT),
        (5.2, 0.879, Tcs.NOT_NEEDED),
        (5.2, 0.88, Tcs.ASSESSMENT),
        (5.0, 0.90, Tcs.NOT_NEEDED),
        (5.01, 0.90, Tcs.ASSESSMENT),
        (4.6, 0.92, Tcs.NOT_NEEDED),
        (7.0, 0.5, Tcs.NOT_NEEDED),
    ],
)
def test_food_code_table_b(ph: float, aw: float, expected: Tcs) -> None:
    assert food_code_table_b(ph, aw) is expected


@pytest.mark.parametrize(
    ("ph", "aw", "expected"),
    [
        # FDA Food Code 1-201.10, interaction table A
        (5.0, 0.95, Tcs.NOT_NEEDED),
        (5.0, 0.96, Tcs.ASSESSMENT),
        (5.7, 0.93, Tcs.ASSESSMENT),
        (5.6, 0.93, Tcs.NOT_NEEDED),
        (4.6, 0.99, Tcs.NOT_NEEDED),
        (7.0, 0.92, Tcs.NOT_NEEDED),
    ],
)
def test_food_code_table_a(ph: float, aw: float, expected: Tcs) -> None:
    assert food_code_table_a(ph, aw) is expected


@pytest.mark.parametrize(
    ("ph", "aw", "expected"),
    [
        # Regulation (EC) 2073/2005, Annex I, chapter 1, footnote 8
        (4.4, 0.98, ListeriaClass.UNABLE),
        (5.0, 0.94, ListeriaClass.UNABLE),
        (5.0, 0.95, ListeriaClass.ABLE),
        (5.1, 0.93, ListeriaClass.ABLE),
        (6.0, 0.92, ListeriaClass.UNABLE),
    ],
)
def test_listeria_class(ph: float, aw: float, expected: ListeriaClass) -> None:
    assert listeria_class(ph, aw) is expected


def test_a_short_shelf_life_is_enough() -> None:
    # Same footnote, from memory: a shelf life of less than five days
    assert listeria_class(6.0, 0.98, shelf_life_days=4) is ListeriaClass.UNABLE
    assert listeria_class(6.0, 0.98, shelf_life_days=5) is ListeriaClass.ABLE


def test_doubtful_instruments_are_judged_at_their_worst() -> None:
    assert listeria_class(4.4, 0.98, Doubt(ph=0.1)) is ListeriaClass.ABLE
    assert food_code_table_b(4.6, 0.91, Doubt(ph=0.05)) is Tcs.ASSESSMENT
    assert food_code_table_a(5.0, 0.95, Doubt(aw=0.01)) is Tcs.ASSESSMENT


@given(st.floats(3.5, 7), st.floats(0.8, 1.0), st.floats(0, 0.3), st.floats(0, 0.05))
def test_more_acid_or_drier_is_never_judged_more_harshly(ph: float, aw: float, d_ph: float, d_aw: float) -> None:
    for judge in (food_code_table_a, food_code_table_b):
        if judge(ph, aw) is Tcs.NOT_NEEDED:
            assert judge(ph - d_ph, aw - d_aw) is Tcs.NOT_NEEDED
    if listeria_class(ph, aw) is ListeriaClass.UNABLE:
        assert listeria_class(ph - d_ph, aw - d_aw) is ListeriaClass.UNABLE


def test_a_slipped_decimal_point_is_refused() -> None:
    with pytest.raises(InputError, match="46"):
        listeria_class(46, 0.95)
    with pytest.raises(InputError, match="water activity"):
        food_code_table_a(5.0, 95)


def test_the_table_of_densities_rises() -> None:
    strengths = np.linspace(1, 26, 200)

    assert np.all(np.diff([brine.density_kg_m3(float(s)) for s in strengths]) > 0)
