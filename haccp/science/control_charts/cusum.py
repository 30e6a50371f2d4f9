"""Tabular CUSUM: adds up what every value has over the target, so that a small shift soon shows.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3; Montgomery and Runger, Applied Statistics and Probability for
Engineers, 16-10.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from haccp.science.control_charts.individuals import checked
from haccp.science.control_charts.signal import Signal
from haccp.science.errors import InputError
from haccp.science.trace import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Cusum:
    """high, low: shape (n,), zero and above; decision: h. began: for each signal, the index at which the sum that
    passed h left zero: about when the shift began.
    """

    high: FloatArray
    low: FloatArray
    decision: float
    signals: tuple[Signal, ...]
    began: tuple[int, ...]


def cusum(values: Sequence[float], *, target: float, allowance: float, decision: float) -> Cusum:
    """S_hi(i) = max(0, S_hi(i−1) + x_i − target − k), S_lo(i) = max(0, S_lo(i−1) + target − k − x_i).

    allowance: k, usually half of the shift that matters; decision: h, four or five sigma; both in the unit of the
    values. A signal stands at every value whose sum exceeds h. InputError for k below zero and h not above it.
    """
    x = checked(values, least=1)
    if not (allowance >= 0 and decision > 0):
        raise InputError("k is zero or more, and h above zero.", remedy="Correct the chart's settings.")
    high, low = (_sums(sign * (x - target) - allowance) for sign in (1.0, -1.0))
    found = []
    for sums, code, way in ((high, "cusum.high", "above"), (low, "cusum.low", "below")):
        zeros = np.maximum.accumulate(np.where(sums == 0, np.arange(x.size), -1))
        for i in np.flatnonzero(sums > decision):
            began = int(zeros[i]) + 1
            sentence = f"The values have been running {way} the target since value {began + 1}."
            found.append((Signal(int(i), code, sentence), began))
    found.sort(key=lambda pair: (pair[0].index, pair[0].code))
    return Cusum(high, low, decision, tuple(s for s, _ in found), tuple(b for _, b in found))


def _sums(steps: FloatArray) -> FloatArray:
    total, sums = 0.0, np.empty(steps.size)
    for i, step in enumerate(steps.tolist()):
        total = max(0.0, total + step)
        sums[i] = total
    return sums
