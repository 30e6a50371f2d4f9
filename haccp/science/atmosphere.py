"""Air pressure at an altitude, by the standard atmosphere."""

import math

from haccp.science.errors import InputError

STANDARD_PA = 101_325.0


def pressure_pa(altitude_m: float) -> float:
    """Pa at an altitude: 101 325 (1 − 2.25577·10⁻⁵ h)^5.25588, ICAO standard atmosphere (Doc 7488, from memory).

    The weather moves the true pressure by a few per cent either way: a station's own pressure is better.
    InputError outside −430 to 5 000 m.
    """
    if not -430 <= altitude_m <= 5_000:
        raise InputError(
            f"{altitude_m:g} m is not the altitude of a dairy.", remedy="Give metres above the sea, not feet."
        )
    return STANDARD_PA * math.pow(1 - 2.25577e-5 * altitude_m, 5.25588)
