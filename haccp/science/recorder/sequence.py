"""Samples in order: one row for each time, rows out of order refused, gaps noted."""

from datetime import UTC, datetime, timedelta

import numpy as np

from haccp.science.recorder import messages
from haccp.science.recorder.cells import BoolArray, IntArray
from haccp.science.trace import FloatArray

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# One sample missing makes a step of two; a step and a half is still a clock's jitter.
_GAP_STEPS = 1.5


def utc_datetime(utc_us: int) -> datetime:
    return _EPOCH + timedelta(microseconds=utc_us)


def refuse_future(utc_us: IntArray, lines: IntArray, not_after: datetime | None) -> None:
    """Raise InputError naming the first line later than not_after (aware)."""
    if not_after is None:
        return
    late = np.flatnonzero(utc_us > (not_after - _EPOCH) // timedelta(microseconds=1))
    if late.size:
        row = int(late[0])
        raise messages.in_the_future(int(lines[row]), utc_datetime(int(utc_us[row])), not_after.astimezone(UTC))


def kept_rows(utc_us: IntArray, lines: IntArray, channels: dict[str, FloatArray]) -> tuple[BoolArray, tuple[str, ...]]:
    """Which rows to keep, shape (n,), and notes: a row that repeats the one before it is dropped.

    utc_us does not decrease. Raises InputError where two rows of one time differ.
    """
    repeated = np.diff(utc_us, prepend=utc_us[:1] - 1) == 0
    rows = np.flatnonzero(repeated)
    if not rows.size:
        return ~repeated, ()
    for values in channels.values():
        differ = rows[~np.isclose(values[rows], values[rows - 1], rtol=0, atol=0, equal_nan=True)]
        if differ.size:
            row = int(differ[0])
            raise messages.conflicting_rows(int(lines[row]), int(lines[row - 1]))
    return ~repeated, (messages.note_duplicates(rows.size, int(lines[rows[0]])),)


def gap_notes(utc_us: IntArray, lines: IntArray) -> tuple[str, ...]:
    """A note on the gaps among strictly increasing times; the gaps stay, for the judge of the trace."""
    steps = np.diff(utc_us)
    gaps = np.flatnonzero(steps > _GAP_STEPS * np.median(steps))
    if not gaps.size:
        return ()
    longest_s = float(steps[gaps].max()) / 1e6
    return (messages.note_gaps(gaps.size, int(lines[gaps[0] + 1]), longest_s),)
