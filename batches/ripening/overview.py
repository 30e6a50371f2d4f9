"""A logger's channel in brief: of each hour the first, last, lowest and highest sample, so that no peak is lost."""

import io

import numpy as np

from haccp.drawing.thin import thin
from haccp.science.trace import FloatArray, Trace

HOUR_S = 3600.0


def samples_of(trace: Trace, channel: str) -> tuple[FloatArray, FloatArray]:
    """Times (s from the trace's start) and values, without what is missing."""
    values = trace.channels[channel]
    known = np.isfinite(values)
    return trace.t_s[known], values[known]


def pack_overview(t: FloatArray, values: FloatArray) -> bytes:
    """t: shape (n,), n ≥ 1, increasing; values: shape (n,), finite."""
    hours = max(1, int(np.ceil((t[-1] - t[0]) / HOUR_S)))
    kept = thin(t, values, hours)
    buffer = io.BytesIO()
    np.savez_compressed(buffer, allow_pickle=False, t=t[kept], values=values[kept].astype(np.float32))
    return buffer.getvalue()


def load_overview(packed: bytes) -> tuple[FloatArray, FloatArray]:
    with np.load(io.BytesIO(packed), allow_pickle=False) as arrays:
        return arrays["t"], arrays["values"].astype(np.float64)
