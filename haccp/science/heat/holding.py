"""How long a trace stayed at or above a temperature, with exact crossings on straight segments between samples."""

import numpy as np

from haccp.science.heat.intervals import Interval
from haccp.science.trace import FloatArray

# °C: the float noise of a unit conversion is not a breach
NOISE_C = 1e-9


def runs_at_or_above(t_s: FloatArray, temperature_c: FloatArray, threshold_c: float) -> list[Interval]:
    """Unbroken runs at or above threshold_c, as (start_s, end_s) in order.

    t_s, temperature_c: shape (n,); NaN samples are passed over (the line goes from neighbour to neighbour: what a
    gap may and may not prove is for quality.spans and the evaluator to say). A run of no length is left out.
    """
    present = np.isfinite(temperature_c)
    t, above = t_s[present], temperature_c[present] - threshold_c
    above[np.abs(above) <= NOISE_C] = 0.0
    if t.size < 2:
        return []
    a, b, t0, t1 = above[:-1], above[1:], t[:-1], t[1:]
    step = np.where(a == b, 1.0, b - a)
    crossing = t0 + (t1 - t0) * np.clip(-a / step, 0.0, 1.0)
    start = np.where(a >= 0, t0, crossing)
    end = np.where(b >= 0, t1, crossing)
    has_run = (a >= 0) | (b >= 0)
    joined = np.concatenate([[False], has_run[1:] & has_run[:-1] & (a[1:] >= 0)])
    opens = np.flatnonzero(has_run & ~joined)
    closes = np.flatnonzero(has_run & ~np.concatenate([joined[1:], [False]]))
    pairs = zip(start[opens].tolist(), end[closes].tolist(), strict=True)
    return [(s, e) for s, e in pairs if e > s]
