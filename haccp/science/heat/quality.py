"""What is wrong with a recorder trace: gaps, a stuck sensor, jumps that no milk can make.

The thresholds are common practice, no source.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from haccp.science.trace import FloatArray, Trace
from haccp.science.units import spell_duration

SHORTEST_GAP_S = 5.0
STEPS_IN_A_GAP = 3.0
STUCK_S = 600.0
STUCK_SAMPLES = 20
JUMP_C = 5.0
JUMP_C_PER_S = 2.0


class Flaw(StrEnum):
    GAP = "gap"
    STUCK = "stuck"
    JUMP = "jump"


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one channel that proves nothing. start_s, end_s: offsets in the trace."""

    start_s: float
    end_s: float
    kind: Flaw
    channel: str
    sentence: str


def usual_step_s(trace: Trace) -> float:
    """The lower quartile of the steps between samples; 0 for fewer than two samples.

    Not the median: a trace of few samples must not take its own gap for its usual step.
    """
    if trace.t_s.size < 2:
        return 0.0
    return float(np.percentile(np.diff(trace.t_s), 25, method="lower"))


def default_max_gap_s(trace: Trace, hold_s: float | None = None) -> float:
    """Three usual steps, at least 5 s; where a holding time is to be proven, no more than a quarter of it.

    The quarter keeps a handful of samples far apart from proving a hold that nobody watched.
    """
    widest = max(SHORTEST_GAP_S, STEPS_IN_A_GAP * usual_step_s(trace))
    return widest if hold_s is None else min(widest, max(SHORTEST_GAP_S, hold_s / 4))


def spans(trace: Trace, channel: str, *, max_gap_s: float | None = None, stuck_s: float = STUCK_S) -> list[Span]:
    """Every stretch of a channel that proves nothing, in order of start. Gaps at either end count too.

    max_gap_s: the longest step between two samples that still counts as unbroken; default_max_gap_s when None.
    stuck_s: how long a value may stay exactly the same (over 20 samples and more) before the sensor is doubted.
    """
    widest = default_max_gap_s(trace) if max_gap_s is None else max_gap_s
    values = trace.channels[channel]
    present = np.isfinite(values)
    t, v = trace.t_s[present], values[present]
    found = [*_gaps(trace, channel, t, widest), *_stuck(channel, t, v, stuck_s), *_jumps(channel, t, v)]
    return sorted(found, key=lambda s: (s.start_s, s.end_s))


def _gaps(trace: Trace, channel: str, t: FloatArray, widest: float) -> list[Span]:
    if not trace.t_s.size:
        return []
    edges = np.concatenate([trace.t_s[:1], t, trace.t_s[-1:]])
    return [
        Span(a, b, Flaw.GAP, channel, f"{channel} has no samples for {spell_duration(b - a)}.")
        for a, b in ((float(edges[i]), float(edges[i + 1])) for i in np.flatnonzero(np.diff(edges) > widest + 1e-9))
    ]


def _stuck(channel: str, t: FloatArray, v: FloatArray, stuck_s: float) -> list[Span]:
    if v.size < STUCK_SAMPLES:
        return []
    starts = np.concatenate([[0], np.flatnonzero(np.diff(v) != 0) + 1])
    ends = np.concatenate([starts[1:] - 1, [v.size - 1]])
    doubtful = (t[ends] - t[starts] >= stuck_s) & (ends - starts + 1 >= STUCK_SAMPLES)
    return [
        Span(
            float(t[i]),
            float(t[j]),
            Flaw.STUCK,
            channel,
            f"{channel} shows the very same value for {spell_duration(float(t[j] - t[i]))}: is the sensor stuck?",
        )
        for i, j in zip(starts[doubtful].tolist(), ends[doubtful].tolist(), strict=True)
    ]


def _jumps(channel: str, t: FloatArray, v: FloatArray) -> list[Span]:
    change, step = np.abs(np.diff(v)), np.diff(t)
    return [
        Span(
            float(t[i]),
            float(t[i + 1]),
            Flaw.JUMP,
            channel,
            f"{channel} jumps by {float(change[i]):.1f} °C in {spell_duration(float(step[i]))}.",
        )
        for i in np.flatnonzero((change > JUMP_C) & (change > JUMP_C_PER_S * step)).tolist()
    ]
