"""From a value to a place on the sheet, and the round values worth a tick."""

import math
from dataclasses import dataclass

import numpy as np

from haccp.drawing.picture import FloatArray


@dataclass(frozen=True, slots=True)
class Scale:
    """Linear: low maps to start, high to end (start > end turns the axis round)."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) * (self.end - self.start) / (self.high - self.low)

    def map(self, values: FloatArray) -> FloatArray:
        return np.asarray(self.start + (values - self.low) * (self.end - self.start) / (self.high - self.low))


def round_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 2.5, 5 × 10ⁿ that divides span into at most `most` steps."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    for factor in (1.0, 2.0, 2.5, 5.0, 10.0):
        if factor * power >= raw * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def value_ticks(low: float, high: float, most: int) -> list[float]:
    """Round values from low to high, at most `most` + 1 of them."""
    step = round_step(high - low, most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(i * step, 10) for i in range(first, last + 1)]


def tick_decimals(ticks: list[float]) -> int:
    """Decimals that every tick needs to be written exactly."""
    return max((len(f"{tick:.6f}".rstrip("0").split(".")[1]) for tick in ticks), default=0)


def padded(low: float, high: float, share: float) -> tuple[float, float]:
    """A little room below and above; a constant gets half a unit on each side."""
    if high - low < 1e-9:
        return low - 0.5, high + 0.5
    return low - share * (high - low), high + share * (high - low)
