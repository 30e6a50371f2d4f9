"""Titratable acidity, and the course of acidification: rate, and when a value will be reached."""

import math
from dataclasses import dataclass

from haccp.science.errors import InputError
from haccp.science.units import convert

# g lactic acid per millimole of base: molar mass 90.08 g/mol (AOAC 947.05 uses 9.008 per 100 g, from memory)
LACTIC_G_PER_MMOL = 0.09008


def lactic_percent(titrant_ml: float, normality: float, sample_g: float) -> float:
    """g lactic acid per 100 g sample from a titration to pH 8.3 or the phenolphthalein colour.

    AOAC 947.05: % = mL × N × 9.008 / g, from memory.
    titrant_ml: mL of base used; normality: mol/L of it; sample_g: g. InputError for values that cannot be.
    """
    if not (math.isfinite(titrant_ml) and titrant_ml >= 0):
        raise InputError("The volume of base cannot be negative.", remedy="Read the burette again.")
    if not (math.isfinite(normality) and normality > 0):
        raise InputError(
            "The strength of the base must be above zero.", remedy="Take it from its label, as 0.1 or 0.25."
        )
    if not (math.isfinite(sample_g) and sample_g > 0):
        raise InputError("The sample must weigh more than zero.", remedy="Type its mass in grams.")
    return titrant_ml * normality * LACTIC_G_PER_MMOL / sample_g * 100


def convert_acidity(value: float, from_unit: str, to_unit: str) -> float:
    """Between %, °D, °SH and °Th: 1 °SH = 2.25 °D = 2.5 °Th = 0.0225 % lactic acid."""
    return convert("titratable_acidity", value, from_unit, to_unit)


@dataclass(frozen=True, slots=True)
class Projection:
    """rate_per_s: change of the value per second. reached_at_s: when the straight line through the last two
    points comes to the wanted value, on the clock of the points; None when it is not on its way there.
    """

    rate_per_s: float
    reached_at_s: float | None


def project(points: list[tuple[float, float]], wanted: float) -> Projection | None:
    """Straight line through the last two points with different times, drawn on to the wanted value.

    points: (t_s, value) in order of time. None with fewer than two such points. A value that is at the wanted one
    already is reached at the last point.
    """
    if len(points) < 2:
        return None
    t1, v1 = points[-1]
    earlier = next(((t, v) for t, v in reversed(points[:-1]) if t < t1), None)
    if earlier is None:
        return None
    rate = (v1 - earlier[1]) / (t1 - earlier[0])
    left = wanted - v1
    if left == 0:
        return Projection(rate, t1)
    return Projection(rate, t1 + left / rate if rate * left > 0 else None)
