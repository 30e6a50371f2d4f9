"""Salt for curd, in per cent of the curd's mass."""

import math

from haccp.science.errors import InputError


def salt_percent(salt_kg: float, curd_kg: float) -> float:
    """g salt per 100 g curd before salting. InputError for no curd, or for salt below zero or heavier than it."""
    _check(salt_kg, curd_kg)
    if salt_kg > curd_kg:
        raise InputError("There is more salt than curd.", remedy="Check the units: both in kg.")
    return salt_kg / curd_kg * 100


def salt_for_kg(percent: float, curd_kg: float) -> float:
    """kg of salt for a curd. InputError for a rate outside 0 to 40 % (common practice, no source)."""
    _check(percent, curd_kg)
    if percent > 40:
        raise InputError(f"{percent:g} % of salt is not plausible.", remedy="Type it in per cent of the curd.")
    return percent / 100 * curd_kg


def _check(salt: float, curd_kg: float) -> None:
    if not (math.isfinite(curd_kg) and curd_kg > 0):
        raise InputError("The curd weighs more than zero.", remedy="Weigh it, and type its mass in kg.")
    if not (math.isfinite(salt) and salt >= 0):
        raise InputError("Salt is zero or more.", remedy="Type how much was weighed out.")
