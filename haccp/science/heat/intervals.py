"""Arithmetic on sets of time intervals: (start_s, end_s), in order, not overlapping."""

from collections.abc import Iterable

Interval = tuple[float, float]


def longest(intervals: Iterable[Interval]) -> Interval | None:
    """The longest interval, the first of equals; None of an empty set."""
    return max(intervals, key=lambda i: i[1] - i[0], default=None)


def length_s(interval: Interval | None) -> float:
    """Seconds in an interval; 0 of None."""
    return interval[1] - interval[0] if interval else 0.0


def total_s(intervals: Iterable[Interval]) -> float:
    """Seconds in all intervals together."""
    return sum(end - start for start, end in intervals)


def intersect(left: list[Interval], right: list[Interval]) -> list[Interval]:
    """What lies in both sets."""
    found: list[Interval] = []
    i = j = 0
    while i < len(left) and j < len(right):
        start, end = max(left[i][0], right[j][0]), min(left[i][1], right[j][1])
        if end > start:
            found.append((start, end))
        if left[i][1] < right[j][1]:
            i += 1
        else:
            j += 1
    return found


def union(intervals: Iterable[Interval]) -> list[Interval]:
    """What lies in any of them (in any order, overlapping or not); neighbours that touch become one."""
    joined: list[Interval] = []
    for start, end in sorted(intervals):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined


def subtract(intervals: list[Interval], spans: Iterable[Interval]) -> list[Interval]:
    """What of the set lies in none of the spans (in any order, overlapping or not)."""
    taken = union(spans)
    kept: list[Interval] = []
    first = 0
    for start, end in intervals:
        while first < len(taken) and taken[first][1] <= start:
            first += 1
        at, i = start, first
        while i < len(taken) and taken[i][0] < end:
            if taken[i][0] > at:
                kept.append((at, taken[i][0]))
            at = max(at, taken[i][1])
            i += 1
        if at < end:
            kept.append((at, end))
    return kept


def share_time(left: Interval, right: Interval) -> bool:
    """Whether two intervals overlap by more than a moment."""
    return left[1] > right[0] and left[0] < right[1]
