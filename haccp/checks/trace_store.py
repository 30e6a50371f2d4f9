"""Samples to and from their stored form (numpy's .npz, float64, compressed)."""

import io
from typing import Any

import numpy as np

from haccp.checks.models import TraceFile
from haccp.science.trace import Trace

TIME_KEY = "t_s"
CHANNEL_PREFIX = "channel:"


def pack(trace: Trace) -> bytes:
    buffer = io.BytesIO()
    arrays: dict[str, Any] = {CHANNEL_PREFIX + name: values for name, values in trace.channels.items()}
    arrays[TIME_KEY] = trace.t_s
    np.savez_compressed(buffer, allow_pickle=False, **arrays)
    return buffer.getvalue()


def load(stored: TraceFile) -> Trace:
    with np.load(io.BytesIO(bytes(stored.samples)), allow_pickle=False) as arrays:
        channels = {name.removeprefix(CHANNEL_PREFIX): arrays[name] for name in arrays.files if name != TIME_KEY}
        return Trace(started_at=stored.started_at, t_s=arrays[TIME_KEY], channels=channels)
