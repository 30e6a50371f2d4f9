"""Individuals and moving range: every value against what the process has done so far.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; run rules: 6.3.2 and Western Electric 1956 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.science.control_charts.signal import Signal, side
from haccp.science.errors import InputError
from haccp.science.trace import FloatArray

D2 = 1.128  # mean range of two values of a normal distribution with σ = 1
D4 = 3.267  # upper limit of the range of two, in mean ranges


@dataclass(frozen=True, slots=True, eq=False)
class Individuals:
    """centre, sigma (mean moving range / 1.128), lower, upper: centre ± 3 sigma; range_upper: 3.267 × mean range.

    values: shape (n,); ranges: shape (n − 1,). All in the unit of the values.
    """

    values: FloatArray
    ranges: FloatArray
    centre: float
    sigma: float
    lower: float
    upper: float
    mean_range: float
    range_upper: float
    signals: tuple[Signal, ...]


def individuals(values: Sequence[float], *, baseline: int | None = None) -> Individuals:
    """The chart of values in order of time.

    baseline: how many of the first values make the limits, all when None; 20 and more make them trustworthy.
    InputError for fewer than two values in the baseline, a missing value, or a baseline that never varies.
    """
    x = checked(values)
    first = x if baseline is None else x[:baseline]
    ranges = np.abs(np.diff(x))
    mean_range = float(np.abs(np.diff(first)).mean())
    centre, sigma = float(first.mean()), mean_range / D2
    if sigma == 0:
        raise InputError("The values never change, so no chart can be drawn.", remedy="Record them with more digits.")
    signals = [*_range_signals(ranges, D4 * mean_range), *run_signals((x - centre) / sigma)]
    return Individuals(
        values=x,
        ranges=ranges,
        centre=centre,
        sigma=sigma,
        lower=centre - 3 * sigma,
        upper=centre + 3 * sigma,
        mean_range=mean_range,
        range_upper=D4 * mean_range,
        signals=tuple(sorted(signals, key=lambda s: (s.index, s.code))),
    )


def checked(values: Sequence[float], *, least: int = 2) -> FloatArray:
    """The values as an array. InputError for too few, and for one that is missing."""
    x = np.asarray(values, dtype=float)
    if x.size < least:
        raise InputError(f"{x.size} values are too few for a chart.", remedy=f"Record at least {least}.")
    if not bool(np.isfinite(x).all()):
        raise InputError("A value is missing.", remedy="Leave it out, or type what was read.")
    return x


def _range_signals(ranges: FloatArray, upper: float) -> list[Signal]:
    return [
        Signal(int(i) + 1, "range.beyond", "The jump from the value before is larger than the process makes by itself.")
        for i in np.flatnonzero(ranges > upper)
    ]


# code, how many of, how many in a row, beyond how many sigma, words. Four ways in which chance alone seldom behaves.
_RULES = (
    ("point.beyond_3_sigma", 1, 1, 3.0, "The value lies {side} the limits of three sigma."),
    ("run.2_of_3_beyond_2_sigma", 2, 3, 2.0, "Two of three values lie more than two sigma {side} the centre."),
    ("run.4_of_5_beyond_1_sigma", 4, 5, 1.0, "Four of five values lie more than one sigma {side} the centre."),
    ("run.8_on_one_side", 8, 8, 0.0, "Eight values in a row lie {side} the centre."),
)


def run_signals(z: FloatArray) -> list[Signal]:
    """Signals of the four rules on z = (value − centre) / sigma, shape (n,), each at the value that completes it."""
    found: list[Signal] = []
    for code, needed, window, sigmas, words in _RULES:
        for is_above in (True, False):
            is_out = z > sigmas if is_above else z < -sigmas
            sums = np.convolve(is_out, np.ones(window))[: z.size]
            complete = is_out & (sums >= needed - 0.5)
            sentence = words.format(side=side(is_above))
            found.extend(Signal(int(i), code, sentence) for i in np.flatnonzero(complete))
    return sorted(found, key=lambda s: (s.index, s.code))
