"""A room's record in brief, day by day, without losing a peak or hiding a gap."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from haccp.science.trace import FloatArray, Trace


@dataclass(frozen=True, slots=True)
class DayInBrief:
    """One local day. lowest, highest: the very samples, with their times; mean: over time, along straight lines.

    All None on a day without a sample. covered_s: of the length_s of the day, between samples no more than the
    longest gap apart. longest_gap_s: the longest stretch of the day that no such pair covers.
    """

    day: date
    samples: int
    lowest: float | None
    lowest_at: datetime | None
    highest: float | None
    highest_at: datetime | None
    mean: float | None
    covered_s: float
    longest_gap_s: float
    length_s: float


def days_in_brief(
    trace: Trace, channel: str, zone: ZoneInfo, *, longest_gap_s: float, first: date, last: date
) -> list[DayInBrief]:
    """Every local day from first to last, both included, with samples or without.

    longest_gap_s: the longest step between two samples that still counts as watched. A day is as long as the clock
    made it: 23 h or 25 h where it was changed. ValueError when last is before first.
    """
    if last < first:
        raise ValueError("The last day is not before the first.")
    present = np.isfinite(trace.channels[channel])
    t, values = trace.t_s[present], trace.channels[channel][present]
    days = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    edges = [_offset_s(trace, day, zone) for day in [*days, last + timedelta(days=1)]]
    return [
        _brief(trace, day, t, values, (start, end), longest_gap_s)
        for day, start, end in zip(days, edges[:-1], edges[1:], strict=True)
    ]


def _offset_s(trace: Trace, day: date, zone: ZoneInfo) -> float:
    midnight = datetime.combine(day, time(), tzinfo=zone)
    return midnight.timestamp() - trace.started_at.timestamp()


def _brief(
    trace: Trace, day: date, t: FloatArray, values: FloatArray, span: tuple[float, float], longest_gap_s: float
) -> DayInBrief:
    start, end = span
    i, j = (int(k) for k in np.searchsorted(t, [start, end]))
    covered_s, area, widest = _along(t, values, start, end, longest_gap_s)
    own = values[i:j]
    if not own.size:
        mean = area / covered_s if covered_s > 0 else None
        return DayInBrief(day, 0, None, None, None, None, mean, covered_s, widest, end - start)
    low, high = int(np.argmin(own)), int(np.argmax(own))
    return DayInBrief(
        day=day,
        samples=j - i,
        lowest=float(own[low]),
        lowest_at=trace.at(t[i + low]),
        highest=float(own[high]),
        highest_at=trace.at(t[i + high]),
        # One lone sample has no time of its own
        mean=area / covered_s if covered_s > 0 else float(own.mean()),
        covered_s=covered_s,
        longest_gap_s=widest,
        length_s=end - start,
    )


def _along(
    t: FloatArray, values: FloatArray, start: float, end: float, longest_gap_s: float
) -> tuple[float, float, float]:
    """Seconds watched between start and end, the integral of the value over them, and the longest gap left."""
    a, b = t[:-1], t[1:]
    is_watched = (b - a <= longest_gap_s) & (b > start) & (a < end)
    t0, t1 = a[is_watched], b[is_watched]
    v0, v1 = values[:-1][is_watched], values[1:][is_watched]
    from_, to = np.maximum(t0, start), np.minimum(t1, end)
    slope = (v1 - v0) / (t1 - t0)
    middle = v0 + slope * ((from_ + to) / 2 - t0)
    edges = np.concatenate([[start], np.column_stack([from_, to]).ravel(), [end]])
    widest = float((edges[1::2] - edges[::2]).max())
    return float((to - from_).sum()), float((middle * (to - from_)).sum()), widest
