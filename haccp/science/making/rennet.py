"""Rennet by its strength: international milk-clotting units (IMCU) per mL, or 1 : N after Soxhlet.

No constant turns one scale into the other: they are measured on different milk at different temperature and pH. A
dose is converted between two products only where both state the same scale.
"""

import math

from haccp.science.errors import InputError

_SOXHLET_S = 40 * 60.0  # 40 min at 35 °C, from memory; one maker's glossary says 45 min


def rennet_for(milk_l: float, imcu_per_l: float, strength_imcu_per_ml: float) -> float:
    """mL of rennet: milk × IMCU wanted per litre of it / strength. IMCU: ISO 11815 (IDF 157), from memory."""
    _refuse_nothing(milk_l, "The milk", "Type its volume in litres.")
    _refuse_nothing(imcu_per_l, "The activity per litre of milk", "Take it from the recipe.")
    _refuse_nothing(strength_imcu_per_ml, "The strength", "Take it from the label.")
    return milk_l * imcu_per_l / strength_imcu_per_ml


def same_activity(dose: float, strength: float, other_strength: float) -> float:
    """The dose of another rennet with the same activity: dose × strength / other_strength.

    Both strengths on one scale, both in IMCU/mL (or /g), or both as the N of 1 : N.
    """
    _refuse_nothing(strength, "The strength", "Take it from the label.")
    _refuse_nothing(other_strength, "The strength", "Take it from the label.")
    if not (math.isfinite(dose) and dose >= 0):
        raise InputError("A dose is zero or more.", remedy="Type the dose of the recipe.")
    return dose * strength / other_strength


def soxhlet_strength(milk_ml: float, rennet_ml: float, clotting_s: float) -> float:
    """N of 1 : N: the milk that one part of rennet clots in 40 min at 35 °C = 2400 s × milk / (rennet × time).

    From memory. milk_ml and rennet_ml in one unit; clotting_s: time to clot, in s.
    """
    _refuse_nothing(milk_ml, "The milk", "Type its volume.")
    _refuse_nothing(rennet_ml, "The rennet", "Type its volume.")
    _refuse_nothing(clotting_s, "The clotting time", "Type it in seconds.")
    return _SOXHLET_S * milk_ml / (rennet_ml * clotting_s)


def soxhlet_dose(milk: float, strength: float, wanted_clotting_s: float) -> float:
    """The part of rennet of strength 1 : N, in the unit of milk, that clots it in wanted_clotting_s at 35 °C."""
    _refuse_nothing(strength, "The strength", "Take the N of 1 : N from the label.")
    _refuse_nothing(wanted_clotting_s, "The clotting time", "Type it in seconds.")
    return _SOXHLET_S * milk / (strength * wanted_clotting_s)


def _refuse_nothing(value: float, name: str, remedy: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} is above zero.", remedy=remedy)
