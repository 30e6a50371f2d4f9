"""How sure a reading is: conformance probability and guard bands.

JCGM 106:2012 (Evaluation of measurement data: the role of measurement uncertainty in conformity assessment),
clauses 7 (probability) and 8 (guard bands), from memory.
"""

import math

COVERAGE_FACTOR = 2.0  # instruments state the expanded uncertainty U = k·u with k = 2, about 95 %
ONE_SIDED_95 = 1.645  # standard normal quantile of 95 % on one side


def standard_uncertainty(expanded_uncertainty: float) -> float:
    """u = U/2, in the unit of U. ValueError for a negative or endless U."""
    if not math.isfinite(expanded_uncertainty) or expanded_uncertainty < 0:
        raise ValueError("An expanded uncertainty is a finite number, zero or more.")
    return expanded_uncertainty / COVERAGE_FACTOR


def guard_band(expanded_uncertainty: float) -> float:
    """g = 1.645·u: a reading inside its limit by g or more conforms with at least 95 % probability."""
    return ONE_SIDED_95 * standard_uncertainty(expanded_uncertainty)


def conformance_probability(margin: float, expanded_uncertainty: float) -> float:
    """Φ(margin/u): probability (0 to 1) that the true value is on the safe side of a one-sided limit.

    margin: distance of the reading from the limit, positive on the safe side, in the unit of U.
    With U = 0 the answer is 0 or 1, and a reading on the limit conforms.
    """
    u = standard_uncertainty(expanded_uncertainty)
    if u == 0:
        return 1.0 if margin >= 0 else 0.0
    return 0.5 * math.erfc(-margin / u / math.sqrt(2.0))


def lowest_credible(value: float, expanded_uncertainty: float) -> float:
    """value − U."""
    return value - COVERAGE_FACTOR * standard_uncertainty(expanded_uncertainty)


def highest_credible(value: float, expanded_uncertainty: float) -> float:
    """value + U."""
    return value + COVERAGE_FACTOR * standard_uncertainty(expanded_uncertainty)
