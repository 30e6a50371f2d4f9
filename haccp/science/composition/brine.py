"""Strength of a brine from its density, as a hydrometer reads it.

Source: Poradnik fizykochemiczny, WNT, Warszawa 1974, in the copy of the Nicolaus Copernicus University (read). It is
of pure NaCl: calcium, lactic acid and whey in a used brine make it denser, so that it reads as a little too strong.
"""

import numpy as np

from haccp.science.errors import InputError

# % by mass, kg/m³ at 20 °C, kg/m³ per °C that it gets lighter. The copy's column of 15 °C is left out: it is twice as
# far from that of 20 °C as its own slope says, and other handbooks side with the slope.
_PERCENT = np.array([1.0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26])
_DENSITY = np.array(
    [1005.3, 1012.2, 1026.8, 1041.3, 1055.9, 1070.7, 1085.7, 1100.9, 1116.2, 1131.9, 1147.8, 1164.0, 1180.4, 1197.2]
)
_PER_DEGREE = np.array([0.22, 0.24, 0.28, 0.31, 0.34, 0.37, 0.39, 0.42, 0.44, 0.47, 0.49, 0.51, 0.53, 0.55])
COLDEST_C, WARMEST_C = 5.0, 30.0  # one slope serves all: farther from 20 °C it is an estimate


def density_kg_m3(salt_percent: float, temperature_c: float = 20.0) -> float:
    """kg/m³ of a brine of salt_percent (g per 100 g brine). InputError outside 1 to 26 % and 5 to 30 °C."""
    _check_temperature(temperature_c)
    if not _PERCENT[0] <= salt_percent <= _PERCENT[-1]:
        raise InputError("The table runs from 1 to 26 % of salt.", remedy="Give g of salt per 100 g of brine.")
    at_20 = float(np.interp(salt_percent, _PERCENT, _DENSITY))
    return at_20 + float(np.interp(salt_percent, _PERCENT, _PER_DEGREE)) * (20.0 - temperature_c)


def salt_percent(density: float, temperature_c: float = 20.0) -> float:
    """g salt per 100 g brine, from its density in kg/m³ (a hydrometer's 1.100 is 1100) at its own temperature.

    InputError for a density outside the table at that temperature, and a temperature outside 5 to 30 °C.
    """
    _check_temperature(temperature_c)
    at_temperature = _DENSITY + _PER_DEGREE * (20.0 - temperature_c)
    if not at_temperature[0] <= density <= at_temperature[-1]:
        raise InputError(
            f"{density:g} kg/m³ is no brine of 1 to 26 % salt.", remedy="Type kg/m³: a hydrometer's 1.100 is 1100."
        )
    return float(np.interp(density, at_temperature, _PERCENT))


def salt_to_add_kg(brine_kg: float, salt_percent_now: float, salt_percent_wanted: float) -> float:
    """kg of dry salt that brings a brine to a strength: m (w₂ − w₁) / (100 − w₂), from the balance of salt."""
    if not 0 <= salt_percent_now <= salt_percent_wanted <= _PERCENT[-1]:
        raise InputError(
            "Salt makes a brine stronger, to 26 % at most.", remedy="Give a strength above what the brine has."
        )
    return brine_kg * (salt_percent_wanted - salt_percent_now) / (100 - salt_percent_wanted)


def _check_temperature(temperature_c: float) -> None:
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise InputError(
            f"The density table serves {COLDEST_C:.0f} to {WARMEST_C:.0f} °C.", remedy="Let the sample come to 20 °C."
        )
