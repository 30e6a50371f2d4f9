"""Relative humidity from dry and wet bulb, and the dew point, by the formulas of the WMO.

WMO-No. 8, Guide to Instruments and Methods of Observation: e = e_w(t_w) − A p (t − t_w) and
e_w = 6.112 exp(17.62 t / (243.12 + t)) hPa (formulas read in secondary sources, coefficients from memory).
"""

import math
from enum import Enum

from haccp.science.atmosphere import STANDARD_PA
from haccp.science.errors import InputError

_COLDEST_C, _WARMEST_C = -20.0, 60.0


class Psychrometer(float, Enum):
    """A in 1/K: how well air is drawn over the bulbs. From memory."""

    ASPIRATED = 6.62e-4
    NATURAL = 8.0e-4  # in a room whose air moves by itself
    STILL = 1.2e-3  # in a cupboard


def saturation_hpa(temperature_c: float) -> float:
    """Vapour pressure over water, hPa. InputError outside −20 to 60 °C."""
    if not _COLDEST_C <= temperature_c <= _WARMEST_C:
        raise InputError(f"{temperature_c:g} °C is not the air of a room.", remedy="Type it in °C, from −20 to 60.")
    return 6.112 * math.exp(17.62 * temperature_c / (243.12 + temperature_c))


def relative_humidity(
    dry_c: float,
    wet_c: float,
    *,
    pressure_pa: float = STANDARD_PA,
    psychrometer: Psychrometer | float = Psychrometer.ASPIRATED,
) -> float:
    """% relative humidity from dry and wet bulb in °C, and the pressure at the place in Pa.

    InputError for a wet bulb warmer than the dry one or below freezing, where ice and water differ, and for a pair
    that no air can give.
    """
    if wet_c > dry_c:
        raise InputError("The wet bulb is warmer than the dry one.", remedy="Exchange the two readings.")
    if wet_c < 0:
        raise InputError(
            "The wet bulb is below freezing.", remedy="Use another hygrometer: ice on the bulb reads differently."
        )
    vapour = saturation_hpa(wet_c) - float(psychrometer) * pressure_pa / 100 * (dry_c - wet_c)
    if vapour <= 0:
        raise InputError(
            "No air is as dry as these two readings say.", remedy="Wet the wick with clean water and read again."
        )
    return vapour / saturation_hpa(dry_c) * 100


def dew_point_c(temperature_c: float, relative_humidity_percent: float) -> float:
    """°C at which water settles from air of this temperature and humidity: on a wall or a cheese that is colder.

    InputError for a humidity outside 1 to 100 %.
    """
    if not 1 <= relative_humidity_percent <= 100:
        raise InputError("Humidity lies from 1 to 100 %.", remedy="Type it in per cent.")
    x = math.log(relative_humidity_percent / 100 * saturation_hpa(temperature_c) / 6.112)
    return 243.12 * x / (17.62 - x)
