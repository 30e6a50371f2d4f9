"""Alkaline phosphatase, with what it is worth in each milk."""

import pytest

from haccp.science.errors import InputError
from haccp.science.heat.phosphatase import judge_phosphatase, limit_for
from haccp.science.ruling import Ruling


@pytest.mark.parametrize(
    ("activity", "species", "jurisdiction", "ruling"),
    [
        # Regulation (EC) 2074/2005, Annex VIa, chapter II: at most 350 mU/L, cow's milk
        (350, "cow", "EU", Ruling.MET),
        (351, "cow", "EU", Ruling.BREACHED),
        # Grade “A” PMO, table 1: less than 350 mU/L
        (349, "cow", "US", Ruling.MET),
        (350, "cow", "US", Ruling.BREACHED),
        # EFSA 2021: pasteurised goat and sheep milk lies below 300 and 500 mU/L with 95 to 99 % probability
        (290, "goat", "EU", Ruling.CLOSE),
        (340, "goat", "EU", Ruling.UNPROVEN),
        (450, "sheep", "EU", Ruling.CLOSE),
        (600, "sheep", "EU", Ruling.UNPROVEN),
        (10, "buffalo", "EU", Ruling.UNPROVEN),
        (10, "goat", "US", Ruling.UNPROVEN),
    ],
)
def test_a_result_by_species(activity: float, species: str, jurisdiction: str, ruling: Ruling) -> None:
    assert judge_phosphatase(activity, species, jurisdiction=jurisdiction).ruling is ruling


def test_a_low_result_in_goat_milk_is_called_weak() -> None:
    verdict = judge_phosphatase(100, "goat")

    assert "weak evidence" in verdict.reason
    assert verdict.facts["is_law"] is False


def test_a_result_within_its_uncertainty_is_unproven() -> None:
    assert judge_phosphatase(340, "cow", expanded_uncertainty=40).ruling is Ruling.UNPROVEN
    assert judge_phosphatase(300, "cow", expanded_uncertainty=40).ruling is Ruling.MET


def test_an_impossible_result_is_refused() -> None:
    with pytest.raises(InputError, match="mU/L"):
        judge_phosphatase(-1, "cow")
    assert limit_for("yak") is None
