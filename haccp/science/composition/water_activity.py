"""Water activity from composition by published equations, each with the cheese that it was made for.

An estimate is no measurement: beside a limit it stands with the equation's own spread.
"""

import math
from dataclasses import dataclass

import numpy as np

from haccp.science.composition.salt import salt_in_moisture, salt_molality
from haccp.science.errors import InputError

MARCOS_LOWEST_MOISTURE = 40.0  # %: “above about 40 %” in the paper's abstract


@dataclass(frozen=True, slots=True)
class WaterActivity:
    """value: 0 to 1. spread: how far most measured cheeses lay from the equation; None where its source, as read,
    does not say. warnings: sentences; within_range is False where the equation was not made for such cheese.
    """

    value: float
    equation: str
    source: str
    known: str
    spread: float | None
    within_range: bool
    warnings: tuple[str, ...]


def from_salt(salt_percent: float, moisture_percent: float) -> WaterActivity:
    """aw = 1 − 0.033 m, m in mol NaCl per kg moisture; for ripe cheese of more than about 40 % moisture.

    Marcos et al. 1981, J Dairy Sci 64:622 (abstract read; page from memory). Percentages in g per 100 g cheese.
    """
    value = 1 - 0.033 * salt_molality(salt_percent, moisture_percent)
    is_within = moisture_percent >= MARCOS_LOWEST_MOISTURE
    warning = (
        f"Outside the equation: at {moisture_percent:.0f} % moisture, below about 40 %, other solids lower the water "
        "activity too, so that salt alone does not foretell it."
    )
    return _result(value, "aw = 1 − 0.033 m", "Marcos et al. 1981, J Dairy Sci 64", None, is_within, warning)


def of_unripe_cheese(salt_in_moisture_percent: float, ph: float) -> WaterActivity:
    """aw = 0.9719 − 0.0044 [g NaCl per 100 g moisture] + 0.0041 pH; fresh, curd and whey cheese.

    J Dairy Res 1990 (abstract read): of 30 samples 86.7 % lay within 0.005.
    """
    if not 0 <= ph <= 14:
        raise InputError(f"pH {ph:g} cannot be.", remedy="Read the meter again.")
    _refuse_negative(salt_in_moisture_percent, "salt in moisture")
    value = 0.9719 - 0.0044 * salt_in_moisture_percent + 0.0041 * ph
    equation = "aw = 0.9719 − 0.0044 [NaCl] + 0.0041 pH"
    source = "New equation for unripe cheese, J Dairy Res 1990"
    # The range of its samples was not in what was read; pH 4 to 7 is that of fresh cheese (common practice)
    is_within = 4.0 <= ph <= 7.0
    return _result(value, equation, source, 0.005, is_within, f"No fresh cheese has pH {ph:g}.")


def of_processed_cheese(ash_in_moisture_percent: float) -> WaterActivity:
    """aw = 0.9951 − 0.0032 [g ash per 100 g moisture] (abstract read): of 40 samples 75 % lay within 0.005."""
    _refuse_negative(ash_in_moisture_percent, "ash in moisture")
    equation = "aw = 0.9951 − 0.0032 [ash]"
    source = "Chemical prediction of water activity in processed cheese"
    return _result(0.9951 - 0.0032 * ash_in_moisture_percent, equation, source, 0.005, True, "")


def of_mould_ripened_cheese(ash_in_moisture_percent: float, npn_in_moisture_percent: float) -> WaterActivity:
    """aw = 1.0058 − 0.0045 [ash] − 0.0107 [non-protein nitrogen], each in g per 100 g moisture.

    Estimation of water activity in mould ripened cheese (abstract read): within 0.010 for 97 % of soft and 73 % of
    blue cheeses.
    """
    _refuse_negative(ash_in_moisture_percent, "ash in moisture")
    _refuse_negative(npn_in_moisture_percent, "non-protein nitrogen in moisture")
    value = 1.0058 - 0.0045 * ash_in_moisture_percent - 0.0107 * npn_in_moisture_percent
    equation = "aw = 1.0058 − 0.0045 [ash] − 0.0107 [NPN]"
    source = "Estimation of water activity in mould-ripened cheese from chemical composition"
    return _result(value, equation, source, 0.010, True, "")


# Pure NaCl solutions at 25 °C, from the osmotic coefficients of Robinson and Stokes (from memory); the last row is
# the saturated solution of Greenspan 1977 (from memory).
_MOLALITY = np.array([0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 6.15])
_ACTIVITY = np.array([1.0, 0.9835, 0.9669, 0.9316, 0.8932, 0.8515, 0.8068, 0.7598, 0.7529])


def of_salt_solution(molality: float) -> float:
    """aw of pure NaCl in water at 25 °C, molality in mol/kg, straight lines between tabulated points.

    What a cheese's equation can be held against: salt alone never gives more water activity than this.
    InputError outside 0 to saturation (6.15 mol/kg).
    """
    if not 0 <= molality <= _MOLALITY[-1]:
        raise InputError(
            f"Salt water holds 0 to {_MOLALITY[-1]:.2f} mol/kg of salt.", remedy="Check salt and moisture."
        )
    return float(np.interp(molality, _MOLALITY, _ACTIVITY))


def salt_in_moisture_for(activity: float) -> float:
    """g salt per 100 g moisture that brings from_salt's equation to an activity; for planning, in its range."""
    if not 0.75 <= activity <= 1:
        raise InputError("Salt brings water activity no lower than 0.75.", remedy="Give a value from 0.75 to 1.")
    return (1 - activity) / 0.033 * salt_in_moisture(1, 10) / salt_molality(1, 10)


def _result(
    value: float, equation: str, source: str, spread: float | None, within: bool, warning: str
) -> WaterActivity:
    if not 0 < value <= 1.01:
        raise InputError(f"The equation gives {value:.2f}, no water activity.", remedy="Check the composition.")
    warnings = () if within else (warning,)
    return WaterActivity(min(value, 1.0), equation, source, "read", spread, within, warnings)


def _refuse_negative(value: float, name: str) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise InputError(f"The {name} is zero or more.", remedy="Type it in g per 100 g of moisture.")
