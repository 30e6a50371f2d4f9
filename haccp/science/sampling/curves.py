"""Operating-characteristic curves: how often a plan lets a batch of a given quality pass.

Two-class: binomial. Three-class: trinomial (ICMSF, Microorganisms in Foods 7, from memory).
"""

import math

import numpy as np

from haccp.science.errors import InputError
from haccp.science.trace import FloatArray


def accept_two_class(n: int, c: int, share_above_m: FloatArray | float) -> FloatArray:
    """Probability that at most c of n units are above m: Σ_{i≤c} C(n,i) p^i (1−p)^(n−i).

    share_above_m: p, of the units of the batch, any shape; the answer has the same. InputError for n, c, p outside
    0 ≤ c < n and 0 ≤ p ≤ 1.
    """
    return accept_three_class(n, c, share_above_m, 0.0)


def accept_three_class(
    n: int, c: int, share_marginal: FloatArray | float, share_above_upper: FloatArray | float
) -> FloatArray:
    """Probability that none of n units is above M and at most c lie from m to M.

    Σ_{i≤c} C(n,i) pm^i (1−pd−pm)^(n−i), pm: share from m to M, pd: share above M, shapes that broadcast.
    """
    pm, pd = np.broadcast_arrays(np.asarray(share_marginal, dtype=float), np.asarray(share_above_upper, dtype=float))
    if n < 1 or not 0 <= c < n:
        raise InputError("A plan takes n units, and lets fewer than n of them pass m.", remedy="Correct n or c.")
    if not bool(np.all((pm >= 0) & (pd >= 0) & (pm + pd <= 1 + 1e-12))):
        raise InputError("Shares of a batch lie from 0 to 1, together too.", remedy="Correct the shares.")
    good = np.clip(1.0 - pm - pd, 0.0, 1.0)
    total = np.zeros(pm.shape)
    for i in range(c + 1):
        total += math.comb(n, i) * pm**i * good ** (n - i)
    return np.minimum(total, 1.0)


def shares_of_lognormal(
    log10_mean: FloatArray | float, log10_sd: float, m: float, upper: float | None = None
) -> tuple[FloatArray, FloatArray]:
    """Shares (from m to M, above M) of a batch whose counts are log-normal; M None: (above m, 0).

    log10_mean: mean of log10 counts, any shape. log10_sd: their standard deviation within a batch; 0.8 is often
    assumed (ICMSF, from memory).
    """
    mean = np.asarray(log10_mean, dtype=float)
    if not (log10_sd > 0 and m > 0):
        raise InputError("The spread of counts and m are above zero.", remedy="Correct them.")
    above_m = _upper_tail((math.log10(m) - mean) / log10_sd)
    if upper is None:
        return above_m, np.zeros(mean.shape)
    above_upper = _upper_tail((math.log10(upper) - mean) / log10_sd)
    return above_m - above_upper, above_upper


def units_to_detect(share: float, confidence: float = 0.95) -> int:
    """The fewest units that show at least one bad one with this confidence: ⌈ln(1 − confidence) / ln(1 − p)⌉.

    share: p, of bad units in a large batch. InputError outside 0 < p < 1.
    """
    if not (0 < share < 1 and 0 < confidence < 1):
        raise InputError("The share and the confidence lie between 0 and 1.", remedy="Give 0.05 for 5 %.")
    return max(1, math.ceil(math.log1p(-confidence) / math.log1p(-share) - 1e-9))


def _upper_tail(z: FloatArray) -> FloatArray:
    tails = [0.5 * math.erfc(x / math.sqrt(2.0)) for x in np.ravel(z).tolist()]
    return np.array(tails).reshape(np.shape(z))
