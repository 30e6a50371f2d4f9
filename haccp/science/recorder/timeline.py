"""The time of every row in UTC, from whichever columns and header lines hold it."""

import re
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from haccp.science.recorder import clock, dates, header, messages, numerals, stamps
from haccp.science.recorder.cells import Cells, IntArray, from_texts
from haccp.science.recorder.clock import Pass, UtcTimes
from haccp.science.recorder.columns import TimeColumns
from haccp.science.recorder.dates import DateHints
from haccp.science.recorder.layout import Layout
from haccp.science.recorder.rows import Table
from haccp.science.recorder.stamps import Fields

_DAY_US = 86_400 * stamps.MICROSECONDS
_LONGEST_S = 1e9  # elapsed time in any unit; beyond it the numbers are no elapsed time
_MINUTE_US = 60 * stamps.MICROSECONDS
SPREADSHEET_EPOCH_DAYS = 25_569  # from 30 December 1899 to 1 January 1970
_FAR_US = 60 * _MINUTE_US


@dataclass(frozen=True, slots=True)
class TimeContext:
    """What the times need beside their cells. repeated_hour: see clock.to_utc."""

    zone: ZoneInfo
    hints: DateHints
    repeated_hour: Pass | None
    layout: Layout


@dataclass(frozen=True, slots=True)
class _Wall:
    """Wall times with the offset from UTC that the cells state, if they do. All arrays (n,), µs."""

    local_us: IntArray
    offset_us: IntArray | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    cells: Cells
    fields: Fields


def utc_times(table: Table, columns: TimeColumns, context: TimeContext) -> UtcTimes:
    """UTC in µs since 1970, never decreasing, shape (n,), with notes on what was decided.

    Raises InputError naming the line of a time that cannot be read, does not exist, or is out of order.
    """
    if columns.kind in ("elapsed", "elapsed_clock"):
        return _from_elapsed(table, columns, context)
    if columns.kind == "epoch":
        return _from_epoch(table, columns, context)
    return _from_walls(_read_walls(table, columns, context), table.lines, columns.offset_minutes, context)


def _from_walls(walls: _Wall, lines: IntArray, head_offset: int | None, context: TimeContext) -> UtcTimes:
    if walls.offset_us is not None:
        found = UtcTimes(walls.local_us - walls.offset_us, (messages.note_offset(),))
    elif head_offset is not None:
        found = UtcTimes(walls.local_us - head_offset * _MINUTE_US, (messages.note_offset(),))
    else:
        found = clock.to_utc(walls.local_us, lines, context.zone, context.repeated_hour)
        found = UtcTimes(found.utc_us, (messages.note_zone(context.zone.key), *found.notes))
    _refuse_disorder(found.utc_us, walls.local_us, lines, context.zone)
    return UtcTimes(found.utc_us, walls.notes + found.notes)


def _refuse_disorder(utc_us: IntArray, local_us: IntArray, lines: IntArray, zone: ZoneInfo) -> None:
    back = np.flatnonzero(np.diff(utc_us) < 0)
    if not back.size:
        return
    row = int(back[0])
    before, at = (clock.wall(int(local_us[index])) for index in (row, row + 1))
    line = int(lines[row + 1])
    if 3000 <= (before - at).total_seconds() <= 3600 and back.size == 1:
        raise messages.set_back(line, before, at, zone.key)
    raise messages.not_increasing(line, before, at)


def _read_walls(table: Table, columns: TimeColumns, context: TimeContext) -> _Wall:
    first, head = table.cells(columns.indexes[0]), context.layout.heads[columns.indexes[0]]
    if columns.kind == "stamp":
        both = _Column(first, stamps.read_fields(first, stamps.STAMP, lines=table.lines, head=head))
        return _dated(both, both, table.lines, context.hints)
    if columns.kind == "serial":
        return _of_spreadsheet(first, head, table.lines)
    if columns.kind == "clock":
        times = _Column(first, stamps.read_fields(first, stamps.CLOCK, lines=table.lines, head=head))
        return _dated_by_header(times, table.lines, context)
    second, second_head = table.cells(columns.indexes[1]), context.layout.heads[columns.indexes[1]]
    days = _Column(first, stamps.read_fields(first, stamps.DATE, lines=table.lines, head=head))
    times = _Column(second, stamps.read_fields(second, stamps.CLOCK, lines=table.lines, head=second_head))
    return _dated(days, times, table.lines, context.hints)


def _of_spreadsheet(cells: Cells, head: str, lines: IntArray) -> _Wall:
    """Days and parts of a day since 30 December 1899, to the millisecond: finer than a double of a date can be read."""
    read = numerals.read_numbers(cells)
    bad = np.flatnonzero(read.faulty | read.missing | ~((read.values > 0) & (read.values < 1e5)))
    if bad.size:
        raise messages.unreadable_time(int(lines[bad[0]]), head, cells.text(int(bad[0])))
    thousandths = np.rint((read.values - SPREADSHEET_EPOCH_DAYS) * 86_400_000).astype(np.int64)
    # Six decimals of a day are 0.09 s: whole seconds were meant where all lie that close to them
    seconds = (thousandths + 500) // 1000
    if (np.abs(thousandths - seconds * 1000) <= 100).all():
        thousandths = seconds * 1000
    return _Wall(thousandths * (stamps.MICROSECONDS // 1000), None, (messages.note_spreadsheet_dates(),))


def _dated(days: _Column, times: _Column, lines: IntArray, hints: DateHints) -> _Wall:
    day, notes = dates.days_since_epoch(days.fields, days.cells, lines, hints)
    local_us = day * _DAY_US + stamps.time_of_day_us(times.fields, times.cells, lines)
    return _Wall(local_us, _stated_offset(times.fields, lines), notes)


def _dated_by_header(times: _Column, lines: IntArray, context: TimeContext) -> _Wall:
    """Times of day under a date in the header; the day goes on by one where the clock passes midnight."""
    written = header.date_text(context.layout.header)
    if written is None:
        raise messages.no_date(context.layout.heads_line)
    clock_us = stamps.time_of_day_us(times.fields, times.cells, lines)
    _refuse_other_start(int(clock_us[0]), times, lines, context)
    days = _header_column(written, stamps.DATE, context)
    day, notes = dates.days_since_epoch(days.fields, days.cells, _header_line(written, context), context.hints)
    midnights = np.cumsum(np.diff(clock_us, prepend=clock_us[:1]) < -_DAY_US // 2)
    local_us = (day[0] + midnights) * _DAY_US + clock_us
    return _Wall(local_us, _stated_offset(times.fields, lines), (messages.note_header_date(written), *notes))


def _refuse_other_start(first_us: int, times: _Column, lines: IntArray, context: TimeContext) -> None:
    """Times that begin at another hour than the header's start count from it, or belong to another recording."""
    written = header.start_text(context.layout.header)
    if written is None:
        return
    start = _header_column(written, stamps.STAMP, context)
    start_us = int(stamps.time_of_day_us(start.fields, start.cells, _header_line(written, context))[0])
    apart = abs(first_us - start_us)
    if min(apart, _DAY_US - apart) > _FAR_US:
        raise messages.other_start(int(lines[0]), times.cells.text(0), written)


def _stated_offset(fields: Fields, lines: IntArray) -> IntArray | None:
    offset_us, stated = stamps.offset_us(fields)
    if not stated.any():
        return None
    if not stated.all():
        raise messages.mixed_offsets(int(lines[np.flatnonzero(stated != stated[0])[0]]))
    return offset_us


def _from_elapsed(table: Table, columns: TimeColumns, context: TimeContext) -> UtcTimes:
    cells, head = table.cells(columns.indexes[0]), context.layout.heads[columns.indexes[0]]
    if columns.kind == "elapsed_clock":
        elapsed_us = _elapsed_hours(cells, head, table.lines)
    else:
        elapsed = numerals.read_numbers(cells)
        bad = np.flatnonzero(elapsed.faulty | elapsed.missing | (np.abs(elapsed.values) > _LONGEST_S))
        if bad.size:
            raise messages.unreadable_elapsed(int(table.lines[bad[0]]), head, cells.text(int(bad[0])))
        elapsed_us = np.rint(elapsed.values * (columns.scale_s * stamps.MICROSECONDS)).astype(np.int64)
    written = header.start_text(context.layout.header)
    if written is None:
        raise messages.no_start(context.layout.heads_line)
    start, line = _header_column(written, stamps.STAMP, context), _header_line(written, context)
    began = _from_walls(_dated(start, start, line, context.hints), line, columns.offset_minutes, context)
    utc_us = began.utc_us[0] + elapsed_us
    _refuse_disorder(utc_us, utc_us, table.lines, context.zone)
    return UtcTimes(utc_us, (messages.note_header_date(written), *began.notes))


def _from_epoch(table: Table, columns: TimeColumns, context: TimeContext) -> UtcTimes:
    cells, head = table.cells(columns.indexes[0]), context.layout.heads[columns.indexes[0]]
    read = numerals.read_numbers(cells)
    bad = np.flatnonzero(read.faulty | read.missing | ~(read.values * columns.scale_s >= _LONGEST_S))
    if bad.size:
        raise messages.unreadable_time(int(table.lines[bad[0]]), head, cells.text(int(bad[0])))
    utc_us = np.rint(read.values * (columns.scale_s * stamps.MICROSECONDS)).astype(np.int64)
    _refuse_disorder(utc_us, utc_us, table.lines, context.zone)
    return UtcTimes(utc_us, (messages.note_epoch(),))


def _elapsed_hours(cells: Cells, head: str, lines: IntArray) -> IntArray:
    """Hours:minutes:seconds since the start, in µs; more than 24 hours too."""
    fields = stamps.read_fields(cells, stamps.CLOCK, lines=lines, head=head)
    minute, seconds = fields["minute"], np.maximum(fields["seconds"], 0)
    wrong = np.flatnonzero((minute > 59) | (seconds > 59) | fields.flags["am"] | fields.flags["pm"])
    if wrong.size:
        raise messages.unreadable_elapsed(int(lines[wrong[0]]), head, cells.text(int(wrong[0])))
    return ((fields["hour"] * 60 + minute) * 60 + seconds) * stamps.MICROSECONDS + fields.fraction_us


def _header_column(text: str, pattern: re.Pattern[str], context: TimeContext) -> _Column:
    cells = from_texts([text])
    return _Column(cells, stamps.read_fields(cells, pattern, lines=_header_line(text, context), head="The header"))


def _header_line(text: str, context: TimeContext) -> IntArray:
    """Shape (1,): the line of the header in which a date is written."""
    day = re.split(r"[T_ ,]", text)[0]
    above = enumerate(context.layout.header_lines, start=1)
    return np.array([next((line for line, written in above if day in written), context.layout.heads_line)])
