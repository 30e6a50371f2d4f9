"""Exponentially weighted moving average: sees small lasting shifts that single values hide.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.science.control_charts.individuals import checked
from haccp.science.control_charts.signal import Signal, side
from haccp.science.errors import InputError
from haccp.science.trace import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Ewma:
    """averages: shape (n + 1,), the first is the target. lower, upper: shape (n + 1,); they widen from the start to
    their steady state, or stand there at once.
    """

    averages: FloatArray
    lower: FloatArray
    upper: FloatArray
    signals: tuple[Signal, ...]


def ewma(
    values: Sequence[float],
    *,
    target: float,
    sigma: float,
    weight: float = 0.3,
    widths: float = 3.0,
    is_steady: bool = False,
) -> Ewma:
    """z_i = λ x_i + (1 − λ) z_{i−1}, z_0 = target; limits target ± L σ √(λ/(2 − λ) [1 − (1 − λ)^{2i}]).

    target, sigma: from the time when all was well. weight: λ; widths: L. is_steady: leave the bracket out, as the
    handbook's example does. InputError for sigma not above zero and weight outside 0 < λ ≤ 1.
    """
    x = checked(values, least=1)
    if not (sigma > 0 and widths > 0 and 0 < weight <= 1):
        raise InputError("Sigma is above zero, and the weight from 0 to 1.", remedy="Correct the chart's settings.")
    averages = np.empty(x.size + 1)
    averages[0] = target
    for i, value in enumerate(x.tolist(), start=1):
        averages[i] = weight * value + (1 - weight) * averages[i - 1]
    factor = weight / (2 - weight)
    steps = np.ones(x.size + 1) if is_steady else 1 - (1 - weight) ** (2.0 * np.arange(x.size + 1))
    reach = widths * sigma * np.sqrt(factor * steps)
    lower, upper = target - reach, target + reach
    signals = [
        Signal(
            int(i) - 1,
            "ewma.beyond",
            f"The weighted average has moved {side(bool(averages[i] > target))} its limits: a small shift that lasts.",
        )
        for i in np.flatnonzero((averages < lower - 1e-12) | (averages > upper + 1e-12))
    ]
    return Ewma(averages, lower, upper, tuple(signals))
