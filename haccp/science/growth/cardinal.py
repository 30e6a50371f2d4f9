"""The gamma model with cardinal parameters: how far temperature, pH and water activity each slow growth, and together.

Cardinal parameter model: Rosso et al. 1995, Appl Environ Microbiol 61:610 (abstract read, formula from memory and
from public implementations). Interaction: Le Marc et al. 2002, Int J Food Microbiol 73:219 (from memory), with
φ = ((X_opt − X) / (X_opt − X_min))³; not the φ = (1 − √γ)² of Augustin 2005, which gives other values near the limits.
"""

from dataclasses import dataclass

import numpy as np

from haccp.science.trace import FloatArray


@dataclass(frozen=True, slots=True)
class Cardinal:
    """lowest, optimum, highest: growth is zero at the ends and outside. order: 2 for temperature and aw, 1 for pH."""

    lowest: float
    optimum: float
    highest: float
    order: int

    def __post_init__(self) -> None:
        if not self.lowest < self.optimum < self.highest:
            raise ValueError("Cardinal values rise from the lowest over the optimum to the highest.")


def gamma(x: FloatArray | float, cardinal: Cardinal) -> FloatArray:
    """CPM_n: 1 at the optimum, 0 outside the ends.

    (X − X_max)(X − X_min)ⁿ / {(X_opt − X_min)ⁿ⁻¹ [(X_opt − X_min)(X − X_opt) − (X_opt − X_max)((n − 1) X_opt + X_min
    − n X)]}. x: any shape; the answer has the same. NaN stays NaN.
    """
    value = np.asarray(x, dtype=float)
    low, best, high, n = cardinal.lowest, cardinal.optimum, cardinal.highest, cardinal.order
    is_inside = (value > low) & (value < high)
    # Outside the ends the fraction may divide by zero: the optimum stands in until it is zeroed
    at = np.where(is_inside, value, best)
    top = (at - high) * (at - low) ** n
    bottom = (best - low) ** (n - 1) * ((best - low) * (at - best) - (best - high) * ((n - 1) * best + low - n * at))
    return np.where(np.isnan(value), np.nan, np.where(is_inside, top / bottom, 0.0))


def phi(x: FloatArray | float, cardinal: Cardinal) -> FloatArray:
    """Le Marc's φ: 0 at the optimum, 1 at the lowest value. Above the optimum 0, the side of more growth."""
    value = np.asarray(x, dtype=float)
    share = (cardinal.optimum - value) / (cardinal.optimum - cardinal.lowest)
    return np.clip(share, 0.0, 1.0) ** 3


def interaction(*phis: FloatArray) -> FloatArray:
    """ξ from ψ = Σ φ_i / (2 Π_{j≠i}(1 − φ_j)): 1 to ψ = 0.5, 2 (1 − ψ) to ψ = 1, then 0."""
    arrays = np.broadcast_arrays(*phis)
    psi = np.zeros(arrays[0].shape)
    for i, one in enumerate(arrays):
        others = np.ones(psi.shape)
        for j, other in enumerate(arrays):
            if j != i:
                others = others * (1 - other)
        psi = psi + np.divide(one, 2 * others, out=np.full(psi.shape, np.inf), where=others > 0)
    return np.where(psi <= 0.5, 1.0, np.clip(2 * (1 - psi), 0.0, 1.0))
