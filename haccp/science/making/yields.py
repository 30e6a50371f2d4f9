"""Yield of cheese: what was got, what fat and casein predict, and what is lost as it dries."""

import math
from dataclasses import dataclass

from haccp.science.errors import InputError

# kg/L at about 15 to 20 °C, from memory; it moves with the milk's fat and season by some 0.003
MILK_DENSITY_KG_PER_L = {"cow": 1.030, "goat": 1.030, "sheep": 1.036, "buffalo": 1.031}
CASEIN_IN_PROTEIN = 0.78  # of the true protein of cow's milk, from memory


@dataclass(frozen=True, slots=True)
class Yield:
    """kg_per_100_l: kg cheese per 100 L milk, which the trade also calls per cent (common practice, no source).
    percent: kg cheese per 100 kg milk.
    """

    kg_per_100_l: float
    percent: float


@dataclass(frozen=True, slots=True)
class PredictedYield:
    """percent: kg cheese per 100 kg milk. warnings: sentences, empty where the formula was made for such milk."""

    percent: float
    formula: str
    source: str
    warnings: tuple[str, ...]


def yield_of(cheese_kg: float, milk_l: float, *, density_kg_per_l: float = MILK_DENSITY_KG_PER_L["cow"]) -> Yield:
    """What a vat gave. InputError for no milk, for cheese heavier than it, and a density outside 0.9 to 1.1 kg/L."""
    _refuse_nothing(milk_l, "The milk")
    _refuse_nothing(cheese_kg, "The cheese")
    if not 0.9 <= density_kg_per_l <= 1.1:
        raise InputError(
            f"{density_kg_per_l:g} kg/L is not the density of milk.", remedy="Type it in kg/L, about 1.03."
        )
    milk_kg = milk_l * density_kg_per_l
    if cheese_kg > milk_kg:
        raise InputError("The cheese weighs more than its milk.", remedy="Check both numbers and their units.")
    return Yield(cheese_kg / milk_l * 100, cheese_kg / milk_kg * 100)


def casein_from_protein(protein_percent: float) -> float:
    """g casein per 100 g cow's milk, about 0.78 of its true protein (from memory; other milks differ)."""
    return protein_percent * CASEIN_IN_PROTEIN


def van_slyke(
    fat_percent: float,
    casein_percent: float,
    moisture_percent: float,
    *,
    fat_recovery: float = 0.93,
    casein_loss: float = 0.1,
    solids_factor: float = 1.09,
) -> PredictedYield:
    """Van Slyke and Price: Y = (0.93 F + C − 0.1) × 1.09 / (1 − M), kg cheese per 100 kg milk.

    fat_percent, casein_percent: g per 100 g milk. moisture_percent: g per 100 g of the cheese that is made.
    The three factors are Cheddar's; give a product's own where its records show them.
    Source: University of Guelph, Food Science, “Yield prediction”. InputError for a composition that cannot be.
    """
    if not (0 <= fat_percent <= 20 and 0 < casein_percent <= 15):
        raise InputError(
            "The fat or casein is not that of milk.", remedy="Type both in g per 100 g of the milk in the vat."
        )
    if not 10 <= moisture_percent < 90:
        raise InputError("The moisture of cheese lies from 10 to 90 %.", remedy="Type it in g per 100 g of cheese.")
    percent = (fat_recovery * fat_percent + casein_percent - casein_loss) * solids_factor / (1 - moisture_percent / 100)
    if percent <= 0:
        raise InputError("Fat and casein are too little for a yield.", remedy="Check both numbers.")
    warnings = []
    # 39 %: the most that a Cheddar may hold, 21 CFR 133.113
    if moisture_percent > 39:
        warnings.append("The formula was made for Cheddar: it is said to fall short for cheese of higher moisture.")
    if not 2 <= fat_percent <= 6 or not 1.8 <= casein_percent <= 3.5:
        warnings.append("Fat or casein is far from the cow's milk that the formula was made for.")
    formula = f"({fat_recovery:g} F + C − {casein_loss:g}) × {solids_factor:g} / (1 − M)"
    return PredictedYield(percent, formula, "Van Slyke and Price, in the form given by Guelph", tuple(warnings))


def at_moisture(percent: float, moisture_percent: float, reference_moisture_percent: float) -> float:
    """A yield as it would be at a reference moisture, so that vats can be compared: Y (100 − M) / (100 − M_ref)."""
    if not (0 <= moisture_percent < 100 and 0 <= reference_moisture_percent < 100):
        raise InputError("Moisture lies from 0 to 100 %.", remedy="Type it in g per 100 g of cheese.")
    return percent * (100 - moisture_percent) / (100 - reference_moisture_percent)


def weight_loss_percent(first_kg: float, now_kg: float) -> float:
    """g lost per 100 g of the first mass; below zero for a gain, which only brine or a slip can bring."""
    _refuse_nothing(first_kg, "The first mass")
    _refuse_nothing(now_kg, "The mass")
    return (1 - now_kg / first_kg) * 100


def _refuse_nothing(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} is more than zero.", remedy="Measure it and type what you found.")
