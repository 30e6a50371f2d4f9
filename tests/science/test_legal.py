"""The published time-temperature pairs."""

import pytest

from haccp.science.errors import InputError
from haccp.science.heat.legal import JURISDICTIONS, LEGAL_PAIRS, Process, required


def pairs(
    jurisdiction: str, process: Process | None = None, *, fat: float = 3.8, sweetened: bool = False
) -> list[tuple[float, float]]:
    rows = required(jurisdiction, process, fat_percent=fat, sweetened=sweetened)
    return [(row.temperature_c, row.hold_s) for row in rows]


def test_united_states_table() -> None:
    # 21 CFR 1240.61(b), all seven rows
    assert pairs("US") == [(63, 1800), (72, 15), (89, 1.0), (90, 0.5), (94, 0.1), (96, 0.05), (100, 0.01)]
    assert [row.temperature_f for row in required("US", fat_percent=3.8)] == [145, 161, 191, 194, 201, 204, 212]


def test_rich_milk_raises_the_first_two_rows_only() -> None:
    # 21 CFR 1240.61(b), footnote 1: 3 °C (5 °F), marked on the rows of 63 °C and 72 °C
    assert pairs("US", fat=12.0) == [(66, 1800), (75, 15), (89, 1.0), (90, 0.5), (94, 0.1), (96, 0.05), (100, 0.01)]
    assert [row.temperature_f for row in required("US", fat_percent=12.0)][:3] == [150, 166, 191]


@pytest.mark.parametrize(
    ("fat", "sweetened", "expected"), [(3.8, False, 63), (9.99, False, 63), (10.0, False, 66), (3.8, True, 66)]
)
def test_the_rise_begins_at_ten_percent_fat_or_with_any_sweetener(fat: float, sweetened: bool, expected: int) -> None:
    # 21 CFR 1240.61(b), footnote 1
    assert pairs("US", Process.BATCH, fat=fat, sweetened=sweetened) == [(expected, 1800)]


def test_michigan_raises_every_row() -> None:
    # MCL 288.697
    assert pairs("US-MI", fat=12.0) == [
        (66, 1800),
        (75, 15),
        (92, 1.0),
        (93, 0.5),
        (97, 0.1),
        (99, 0.05),
        (103, 0.01),
    ]


def test_australian_thermisation_is_the_rule_in_force_since_2012() -> None:
    # Standard 4.2.4, clause 16(1)(b); the older 62 °C/15 s of Standard 1.6.2 is superseded
    (row,) = required("AU", Process.THERMISATION, fat_percent=4.0)

    assert (row.temperature_c, row.hold_s) == (64.5, 16.0)
    assert "7 °C" in row.then
    assert "90 days" in row.then


def test_europe_and_canada() -> None:
    # Regulation (EC) 853/2004, Annex III, section IX, chapter II, part II
    assert pairs("EU") == [(63, 1800), (72, 15)]
    # Food and Drug Regulations B.08.030(1)
    assert pairs("CA") == [(61.6, 1800)]
    # Neither raises a row for fat
    assert pairs("EU", fat=30.0) == pairs("EU")


@pytest.mark.parametrize(
    ("temperature_c", "hold_s"), [(63.0, 1800), (71.9, 15), (71.0, 1800), (72.0, 15), (89.5, 1.0), (130.0, 0.01)]
)
def test_a_temperature_may_use_the_quickest_row_that_it_reaches(temperature_c: float, hold_s: float) -> None:
    # 21 CFR 1240.61(b); 71.9 °C is above the 161 °F (71.67 °C) that the row prints beside 72 °C
    (row,) = required("US", fat_percent=3.8, temperature_c=temperature_c)

    assert row.hold_s == hold_s


def test_145_fahrenheit_is_enough_where_the_law_prints_fahrenheit() -> None:
    (row,) = required("US", fat_percent=3.8, temperature_c=(145 - 32) / 1.8)

    assert row.temperature_f == 145


def test_too_low_a_temperature_is_told_the_lowest_row() -> None:
    with pytest.raises(InputError, match=r"60\.0 °C.*61\.6 °C"):
        required("CA", fat_percent=3.8, temperature_c=60.0)


def test_what_is_not_published_is_said_so() -> None:
    with pytest.raises(InputError, match="No heat treatment is on file for “XX”"):
        required("XX", fat_percent=3.8)
    with pytest.raises(InputError, match="It has: batch, continuous"):
        required("EU", "thermisation", fat_percent=3.8)
    with pytest.raises(InputError, match="between 0 and 100"):
        required("EU", fat_percent=float("nan"))


def test_every_row_names_its_clause_and_how_it_is_known() -> None:
    assert set(JURISDICTIONS) == {"US", "US-MI", "EU", "UK", "AU", "CA"}
    for pair in LEGAL_PAIRS:
        assert pair.clause
        assert pair.known in ("read", "secondary", "memory")
