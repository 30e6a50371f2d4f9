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


def subtract(intervals: list[Interval], spans: Iterable[Interval]) -> list[Interval]:
    """What of the set lies in none of the spans (in any order, overlapping or not)."""
    left = list(intervals)
    for start, end in sorted(spans):
        kept: list[Interval] = []
        for a, b in left:
            if end <= a or start >= b:
                kept.append((a, b))
                continue
            kept.extend(piece for piece in ((a, start), (end, b)) if piece[1] > piece[0])
        left = kept
    return left


def share_time(left: Interval, right: Interval) -> bool:
    """Whether two intervals overlap by more than a moment."""
    return left[1] > right[0] and left[0] < right[1]
