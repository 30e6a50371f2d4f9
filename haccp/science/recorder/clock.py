"""From the clock on a dairy's wall to UTC, through the hour that happens twice and the hour that does not exist.

Local times are µs since 1970-01-01 00:00 on the wall clock; UTC times are µs since 1970-01-01 00:00 UTC.
An ambiguous local time has the two offsets that PEP 495 calls fold 0 (before the change) and fold 1 (after it).
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from haccp.science.recorder import messages
from haccp.science.recorder.cells import IntArray

Pass = Literal["first", "second"]
_HOUR_US = 3_600_000_000
_MINUTE_US = 60_000_000
_JITTER = 1.25  # a step this much longer than usual is still no gap
_WALL_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - a wall clock has no zone


@dataclass(frozen=True, slots=True)
class UtcTimes:
    """utc_us: shape (n,). notes: what was done about changes of the hour."""

    utc_us: IntArray
    notes: tuple[str, ...]


def open_zone(name: str) -> ZoneInfo:
    """Raise InputError for a name that is no time zone."""
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, LookupError):  # ZoneInfoNotFoundError is a LookupError
        raise messages.unknown_zone(name) from None


def wall(local_us: int) -> datetime:
    """A naive datetime, for a sentence."""
    return _WALL_EPOCH + timedelta(microseconds=local_us)


def to_utc(local_us: IntArray, lines: IntArray, zone: ZoneInfo, repeated_hour: Pass | None) -> UtcTimes:
    """UTC of wall times that stand in the order in which they were recorded; shape (n,).

    The order tells the two passes of a repeated hour apart: the clock steps back once, from the first to the
    second. repeated_hour: which pass it was, for a file that lies within the repeated hour and cannot tell.
    Raises InputError for a time that does not exist, and for one that may be either pass.
    """
    before, after = _offsets(local_us, zone)
    missing = np.flatnonzero(before < after)
    if missing.size:
        row = int(missing[0])
        raise messages.hour_does_not_exist(int(lines[row]), wall(int(local_us[row])), zone.key)
    offset, notes = before.copy(), []
    usual_us = float(np.median(np.diff(local_us))) if local_us.size > 1 else 0.0
    for start, end in _runs(before > after):
        run = _RepeatedHour(local_us, lines, start, end, int(before[start] - after[start]), usual_us)
        split, note = run.split(zone.key, repeated_hour)
        offset[split:end] = after[split:end]
        notes.append(note)
    forward = np.flatnonzero(np.diff(offset) > 0)
    notes += [messages.note_hour_skipped(zone.key, int(lines[row + 1])) for row in forward]
    return UtcTimes(local_us - offset, tuple(notes))


def _offsets(local_us: IntArray, zone: ZoneInfo) -> tuple[IntArray, IntArray]:
    """Offsets from UTC in µs by fold 0 and fold 1, looked up once for each hour without a change."""
    hours = local_us // _HOUR_US
    starts = np.flatnonzero(np.diff(hours, prepend=hours[:1] - 1))
    ends = np.append(starts[1:], local_us.size)
    before, after = np.empty_like(local_us), np.empty_like(local_us)
    known: dict[int, int | None] = {}
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        hour = int(hours[start])
        if hour not in known:
            known[hour] = _steady_offset(hour, zone)
        steady = known[hour]
        if steady is not None:
            before[start:end] = after[start:end] = steady
            continue
        for row in range(start, end):
            before[row], after[row] = (_offset(int(local_us[row]), zone, fold) for fold in (0, 1))
    return before, after


def _steady_offset(hour: int, zone: ZoneInfo) -> int | None:
    """The one offset of a whole hour on the wall, or None where the clock changes in it."""
    edges = (hour * _HOUR_US, (hour + 1) * _HOUR_US - 1)
    found = {_offset(edge, zone, fold) for edge in edges for fold in (0, 1)}
    return found.pop() if len(found) == 1 else None


def _offset(local_us: int, zone: ZoneInfo, fold: int) -> int:
    offset = wall(local_us).replace(tzinfo=zone, fold=fold).utcoffset()
    assert offset is not None
    return offset // timedelta(microseconds=1)


def _runs(flags: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """The stretches [start, end) of rows whose flag is set."""
    edges = np.flatnonzero(np.diff(flags.astype(np.int8), prepend=0, append=0))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))


@dataclass(frozen=True, slots=True)
class _RepeatedHour:
    """Rows [start, end) whose wall time happens twice, repeat_us apart."""

    local_us: IntArray
    lines: IntArray
    start: int
    end: int
    repeat_us: int
    usual_us: float

    def split(self, zone: str, repeated_hour: Pass | None) -> tuple[int, str]:
        """The first row of the second pass (start: all second; end: all first), and a note."""
        stepped_back = self._step_back()
        if stepped_back is not None:
            return stepped_back, messages.note_hour_repeated(zone, int(self.lines[stepped_back]))
        which, why = self._single_pass(zone, repeated_hour)
        return self.end if which == "first" else self.start, messages.note_single_pass(zone, which, why)

    def _step_back(self) -> int | None:
        """The row at which the clock was set back: in UTC it follows soon after the row before.

        Two rows swapped by hand step back by seconds only, and would be nearly a whole repeat apart.
        """
        steps = np.diff(self.local_us[self.start : self.end])
        soon = max(self.repeat_us / 2, _JITTER * self.usual_us)
        back = np.flatnonzero((steps <= 0) & (steps + self.repeat_us > 0) & (steps + self.repeat_us <= soon))
        return self.start + int(back[0]) + 1 if back.size else None

    def _single_pass(self, zone: str, chosen: Pass | None) -> tuple[Pass, str]:
        row, at = int(self.lines[self.start]), wall(int(self.local_us[self.start]))
        before, after = self._step(self.start - 1), self._step(self.end - 1)
        limit = max(_JITTER * self.usual_us, _MINUTE_US)
        first = before <= limit and (np.isinf(after) or after + self.repeat_us <= limit)
        second = after <= limit and (np.isinf(before) or before + self.repeat_us <= limit)
        if not first and not second and before <= limit and after <= limit:
            raise messages.hour_not_repeated(row, at, zone)
        if first or (before <= limit and not second):
            return "first", "the recording runs into them from the time before"
        if second or after <= limit:
            return "second", "the recording runs on from them into the time after"
        if chosen is not None:
            return chosen, "as chosen"
        raise messages.which_pass(row, at, zone)

    def _step(self, row: int) -> float:
        """Wall time from `row` to the next in µs, infinite where the recording has no such rows."""
        if not 0 <= row < self.local_us.size - 1:
            return np.inf
        return float(self.local_us[row + 1] - self.local_us[row])
