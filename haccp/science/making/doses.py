"""Doses scaled to the milk in the vat, in metric and in spoons."""

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from haccp.science.errors import InputError

US_TEASPOON_ML = 3785.411784 / 768  # 1 gal (US) = 231 in³ = 768 teaspoons, exact by definition (NIST SP 811)
_FINEST = Fraction(1, 32)  # of a teaspoon


class Spoons(StrEnum):
    """Which spoons. Metric: 5 mL and 15 mL (common practice, no source)."""

    US = "us"
    METRIC = "metric"


_TEASPOON_ML = {Spoons.US: US_TEASPOON_ML, Spoons.METRIC: 5.0}


@dataclass(frozen=True, slots=True)
class SpoonMeasure:
    """text: as a cook says it, "1 tbsp + 1/2 tsp". volume_ml: what that holds.

    error_percent: how far that is from what was asked for, of it; positive for too much.
    """

    text: str
    volume_ml: float
    error_percent: float


def scale_dose(amount: float, for_milk_l: float, milk_l: float) -> float:
    """The amount for milk_l, in the unit of amount, of a recipe that gives amount for for_milk_l.

    InputError for an amount below zero and a volume that is not above it.
    """
    if not (math.isfinite(amount) and amount >= 0):
        raise InputError("A dose is zero or more.", remedy="Type the dose of the recipe.")
    for volume, whose in ((for_milk_l, "recipe"), (milk_l, "vat")):
        if not (math.isfinite(volume) and volume > 0):
            raise InputError(f"The milk of the {whose} is above zero.", remedy="Type its volume in litres.")
    return amount * milk_l / for_milk_l


def in_spoons(volume_ml: float, spoons: Spoons = Spoons.US) -> SpoonMeasure:
    """The nearest measure in tablespoons, teaspoons and fractions down to 1/32 teaspoon.

    InputError for a volume below half the smallest measure: it must be weighed or diluted.
    """
    if not (math.isfinite(volume_ml) and volume_ml > 0):
        raise InputError("A measure is above zero.", remedy="Type the dose in mL.")
    teaspoon = _TEASPOON_ML[spoons]
    parts = round(volume_ml / teaspoon / _FINEST)
    if parts == 0:
        raise InputError(
            f"{volume_ml:.3g} mL is too little for a spoon.", remedy="Measure it with a syringe, or dilute it first."
        )
    # Past a teaspoon nobody adds thirty-seconds: the nearest eighth is closer than a spoon can be levelled
    if parts > 32:
        parts = round(volume_ml / teaspoon * 8) * 4
    held = float(parts * _FINEST) * teaspoon
    return SpoonMeasure(_spell(parts * _FINEST), held, (held / volume_ml - 1) * 100)


def in_spoons_of_powder(mass_g: float, bulk_density_g_per_ml: float, spoons: Spoons = Spoons.US) -> SpoonMeasure:
    """The nearest measure of a powder. Its bulk density comes from its label or a levelled spoon on a scale."""
    if not (math.isfinite(bulk_density_g_per_ml) and bulk_density_g_per_ml > 0):
        raise InputError(
            "The bulk density is above zero.", remedy="Weigh a levelled teaspoon: its grams by its millilitres."
        )
    return in_spoons(mass_g / bulk_density_g_per_ml, spoons)


def _spell(teaspoons: Fraction) -> str:
    tablespoons, left = divmod(teaspoons, 3)
    whole, left = divmod(left, 1)
    parts = [f"{tablespoons} tbsp"] if tablespoons else []
    pieces = []
    for size in (2, 4, 8, 16, 32):
        if left >= Fraction(1, size):
            left -= Fraction(1, size)
            pieces.append(f"1/{size}")
    small = " + ".join([str(whole)] * bool(whole) + pieces)
    if small:
        parts.append(f"{small} tsp")
    return " + ".join(parts)
