"""The boiling point of water: saturation temperature by IAPWS-IF97, region 4."""

import math

from haccp.science.atmosphere import pressure_pa
from haccp.science.errors import InputError

# IAPWS-IF97, table 34 (from memory, checked against a reference implementation)
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
_LOWEST_PA, _HIGHEST_PA = 45_000.0, 110_000.0


def boiling_point_c(station_pa: float) -> float:
    """°C (ITS-90) at which pure water boils under a pressure, in Pa, measured where it boils.

    Not the pressure that a weather report reduces to sea level. Equation 31 of IAPWS-IF97.
    InputError outside 45 000 to 110 000 Pa, which no open kettle sees.
    """
    if not _LOWEST_PA <= station_pa <= _HIGHEST_PA:
        raise InputError(
            f"{station_pa:g} Pa is not a pressure of open air.",
            remedy="Give the station pressure in Pa.",
        )
    beta = math.pow(station_pa / 1e6, 0.25)
    e = beta**2 + _N[2] * beta + _N[5]
    f = _N[0] * beta**2 + _N[3] * beta + _N[6]
    g = _N[1] * beta**2 + _N[4] * beta + _N[7]
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    sum_ = _N[9] + d
    return (sum_ - math.sqrt(sum_ * sum_ - 4 * (_N[8] + _N[9] * d))) / 2 - 273.15


def boiling_point_at_altitude_c(altitude_m: float) -> float:
    """°C at which water boils at an altitude in standard weather; weather alone moves it by 0.5 °C and more."""
    return boiling_point_c(pressure_pa(altitude_m))
