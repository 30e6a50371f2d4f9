"""Titratable acidity, and the course of acidification: rate, when a value will be reached, and where past makes lay."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.science.errors import InputError
from haccp.science.trace import FloatArray
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


@dataclass(frozen=True, slots=True)
class AcidityBand:
    """Where past makes lay: low and high at each t_s, shape (n,). makes: how many they were."""

    t_s: FloatArray
    low: FloatArray
    high: FloatArray
    makes: int

    def at(self, t_s: float) -> tuple[float, float] | None:
        """Low and high at a moment, between the points; None outside of them."""
        if not self.t_s.size or not self.t_s[0] <= t_s <= self.t_s[-1]:
            return None
        return float(np.interp(t_s, self.t_s, self.low)), float(np.interp(t_s, self.t_s, self.high))


def band_of(
    curves: Sequence[Sequence[tuple[float, float]]], *, step_s: float = 900.0, fewest: int = 3
) -> AcidityBand | None:
    """The band of past makes: from the lowest to the highest of them, or the middle eight tenths from ten makes on.

    curves: of each make, (t_s, value) in order of time; straight lines between its readings, nothing beyond them.
    None where fewer than `fewest` makes overlap anywhere.
    """
    usable = [np.array(curve, dtype=np.float64) for curve in curves if len(curve) >= 2]
    if len(usable) < fewest:
        return None
    grid = np.arange(0.0, max(float(curve[-1, 0]) for curve in usable) + step_s / 2, step_s)
    rows = np.full((len(usable), grid.size), np.nan)
    for row, curve in zip(rows, usable, strict=True):
        inside = (grid >= curve[0, 0]) & (grid <= curve[-1, 0])
        row[inside] = np.interp(grid[inside], curve[:, 0], curve[:, 1])
    enough = np.isfinite(rows).sum(axis=0) >= fewest
    # One stretch: a band with holes cannot be drawn, and the longest is where the makes were read
    edges = np.flatnonzero(np.diff(np.concatenate([[False], enough, [False]]).astype(int)))
    if not edges.size:
        return None
    start, end = max(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True), key=lambda pair: pair[1] - pair[0])
    ends = (10, 90) if len(usable) >= 10 else (0, 100)
    low, high = np.nanpercentile(rows[:, start:end], ends, axis=0)
    return AcidityBand(grid[start:end], low, high, len(usable))
