"""Growth over what really happened to a batch: its temperature, pH and water activity through time.

The answer is advice. It is no ruling and cannot be made one: a limit that was breached stays breached however little
growth a model foretells.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haccp.science.errors import InputError
from haccp.science.growth.cardinal import gamma, interaction, phi
from haccp.science.growth.organisms import Organism
from haccp.science.trace import FloatArray
from haccp.science.units import show

# A step of the integral is no longer than this, and no factor changes by more than this in it
_STEP_S, _STEP_C, _STEP_PH, _STEP_AW = 300.0, 1.0, 0.1, 0.005
_LN10 = math.log(10.0)
# J Dairy Sci 2021, jds.2020-19442 (abstract read): L. monocytogenes in milk ends at 7.8 log cfu/mL
_MOST_DECADES = 8.0


@dataclass(frozen=True, slots=True)
class GrowthAdvice:
    """log10_increase: decades of growth, without a lag and without an end: the worst that the model foretells.

    fastest_per_h: the greatest decades per hour met. unseen_s: time in gaps, over which the faster of both ends was
    taken. outside_s: time outside what the source's data covered. range_sentence and caution go with the figure
    wherever it is shown.
    """

    organism: str
    log10_increase: float
    fastest_per_h: float
    unseen_s: float
    outside_s: float
    range_sentence: str
    caution: str
    source: str


def rate_log10_per_h(
    organism: Organism, temperature_c: FloatArray | float, ph: FloatArray | float, aw: FloatArray | float
) -> FloatArray:
    """Decades per hour: μ_opt γ(T) γ(pH) γ(aw) ξ / ln 10. Shapes that broadcast."""
    gammas = gamma(temperature_c, organism.temperature) * gamma(ph, organism.ph) * gamma(aw, organism.aw)
    xi = interaction(phi(temperature_c, organism.temperature), phi(ph, organism.ph), phi(aw, organism.aw))
    return organism.rate_per_h * gammas * xi / _LN10


def grow(
    organism: Organism,
    t_s: FloatArray,
    temperature_c: FloatArray,
    ph: FloatArray,
    aw: FloatArray,
    *,
    max_gap_s: float = 6 * 3600.0,
) -> GrowthAdvice:
    """Growth over a history; each factor runs straight from sample to sample.

    t_s, temperature_c, ph, aw: shape (n,), t_s increasing, no NaN. Steps longer than max_gap_s are gaps.
    InputError for shapes that differ, fewer than two samples, and values that cannot be.
    """
    _check(t_s, temperature_c, ph, aw)
    steps = np.diff(t_s)
    is_gap = steps > max_gap_s
    total, fastest, outside = 0.0, 0.0, 0.0
    # Gaps are taken as a whole, so that only watched time is cut into small steps
    for begin, end in _runs(~is_gap):
        part = slice(begin, end + 2)
        grid = _fine(t_s[part], temperature_c[part], ph[part], aw[part])
        factors = tuple(np.interp(grid, t_s, values) for values in (temperature_c, ph, aw))
        rates = rate_log10_per_h(organism, *factors)
        fastest = max(fastest, float(rates.max()))
        total += float(np.trapezoid(rates, grid)) / 3600
        outside += _outside_s(organism, grid, factors[0], factors[2])
    ends = rate_log10_per_h(organism, temperature_c, ph, aw)
    faster = np.maximum(ends[:-1], ends[1:])[is_gap]
    total += float((faster * steps[is_gap]).sum()) / 3600
    unseen = float(steps[is_gap].sum())
    return GrowthAdvice(
        organism=organism.name,
        log10_increase=total,
        fastest_per_h=max(fastest, float(faster.max(initial=0.0))),
        unseen_s=unseen,
        outside_s=outside,
        range_sentence=range_sentence(organism),
        caution=_caution(organism, total, unseen),
        source=organism.source,
    )


def range_sentence(organism: Organism) -> str:
    """Within what the model can be used at all, and what its data covered."""
    temperature, ph, aw = organism.temperature, organism.ph, organism.aw
    sentence = (
        f"The model lets {organism.name} grow from {show('temperature', temperature.lowest)} to "
        f"{show('temperature', temperature.highest)}, pH "
        f"{ph.lowest:g} to {ph.highest:g} and water activity {aw.lowest:g} and above, by data from {organism.medium}."
    )
    if organism.tested_c is None:
        return f"{sentence} Which part of that its data covered is not known here."
    low, high = organism.tested_c
    tested = f" Its data covered {low:g} to {high:g} °C"
    if organism.tested_aw is not None:
        tested += f" and water activity {organism.tested_aw[0]:g} to {organism.tested_aw[1]:g}"
    return f"{sentence}{tested}."


def _caution(organism: Organism, increase: float, unseen_s: float) -> str:
    parts = [
        "Advice only: it changes no verdict. It counts no lag and no competition by the starter.",
        f"Confidence in its parameters is {organism.confidence}.",
    ]
    if increase > _MOST_DECADES:
        parts.append("So many decades are more than any food holds: read it as growth without hindrance.")
    if unseen_s > 0:
        parts.append(f"Nobody watched {unseen_s / 3600:.1f} h of it, and growth then may have been faster.")
    return " ".join(parts)


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every run of True."""
    edges = np.diff(np.concatenate([[False], flags, [False]]).astype(int))
    return list(zip(np.flatnonzero(edges == 1).tolist(), (np.flatnonzero(edges == -1) - 1).tolist(), strict=True))


def _fine(t: FloatArray, temperature_c: FloatArray, ph: FloatArray, aw: FloatArray) -> FloatArray:
    """The sample times and points between them, so that every step is small."""
    steps = np.diff(t)
    pairs = ((t, _STEP_S), (temperature_c, _STEP_C), (ph, _STEP_PH), (aw, _STEP_AW))
    wanted = np.stack([np.abs(np.diff(values)) / step for values, step in pairs]).max(axis=0)
    count = np.maximum(np.ceil(wanted).astype(int), 1)
    segment = np.repeat(np.arange(count.size), count)
    place = np.arange(segment.size) - np.repeat(np.cumsum(count) - count, count)
    return np.append(t[segment] + steps[segment] * (place / count[segment]), t[-1])


def _outside_s(organism: Organism, grid: FloatArray, temperature_c: FloatArray, aw: FloatArray) -> float:
    if organism.tested_c is None:
        return 0.0
    is_out = (temperature_c < organism.tested_c[0]) | (temperature_c > organism.tested_c[1])
    if organism.tested_aw is not None:
        is_out |= (aw < organism.tested_aw[0]) | (aw > organism.tested_aw[1])
    return float(np.diff(grid)[is_out[:-1]].sum())


def _check(t_s: FloatArray, temperature_c: FloatArray, ph: FloatArray, aw: FloatArray) -> None:
    arrays = (t_s, temperature_c, ph, aw)
    if any(a.shape != t_s.shape for a in arrays) or t_s.ndim != 1 or t_s.size < 2:
        raise InputError(
            "A history needs temperature, pH and water activity at two times or more.", remedy="Give them all."
        )
    if not all(bool(np.isfinite(a).all()) for a in arrays) or not bool(np.all(np.diff(t_s) > 0)):
        raise InputError("A value or a time of the history is missing.", remedy="Leave that moment out.")
    if bool(np.any((ph < 0) | (ph > 14))) or bool(np.any((aw <= 0) | (aw > 1))):
        raise InputError("A pH or a water activity cannot be.", remedy="pH runs from 0 to 14, water activity to 1.")
