"""A recorder's file to a trace: the one way in, which names each step in its order."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np

from haccp.science.errors import InputError
from haccp.science.recorder import (
    channels,
    clock,
    columns,
    decoding,
    header,
    last_line,
    layout,
    messages,
    months,
    rows,
    sequence,
    stamps,
    timeline,
)
from haccp.science.recorder.cells import IntArray
from haccp.science.recorder.clock import Pass, UtcTimes
from haccp.science.recorder.columns import Role, TimeColumns
from haccp.science.recorder.dates import DateHints, DateOrder
from haccp.science.recorder.layout import Layout
from haccp.science.recorder.rows import Table
from haccp.science.recorder.timeline import TimeContext
from haccp.science.trace import Trace

MAX_BYTES = 64 * 2**20


@dataclass(frozen=True, slots=True, eq=False)
class RecorderFile:
    """trace: temperatures in °C, other numeric columns as they stand; times in UTC.

    header: key -> value of the lines above the column heads.
    units_as_labelled: channel -> the unit in its head, "" where it has none.
    suggested_roles: channel -> what it seems to measure; a person confirms it.
    notes: one sentence for each thing that was decided, converted, dropped or found missing.
    delimiter: ";", "," or tab. decimal_mark: "." or ",".
    encoding: "utf-8", "utf-8-sig", "utf-16", "cp1252" or "latin-1".
    """

    trace: Trace
    header: dict[str, str]
    units_as_labelled: dict[str, str]
    suggested_roles: dict[str, Role]
    notes: tuple[str, ...]
    delimiter: str
    decimal_mark: str
    encoding: str


def read_recorder_file(
    data: bytes,
    *,
    filename: str,
    time_zone: str,
    expected_day: date | None = None,
    max_bytes: int = MAX_BYTES,
    not_after: datetime | None = None,
    unit_overrides: dict[str, str] | None = None,
    date_order: DateOrder | None = None,
    repeated_hour: Pass | None = None,
) -> RecorderFile:
    """Read a text file: header lines, a line of column heads, one row for each sample time.

    time_zone: IANA name of the zone whose wall clock the recorder kept; unused where times state their offset.
    expected_day: local day of the make, to tell day from month. date_order: "dmy" or "mdy", where that does not do.
    not_after: aware; a later time is an error. repeated_hour: which pass, for a file within the hour that happens
    twice. unit_overrides: channel -> "°C" or "°F", against its label.

    Raises InputError: one sentence on what is wrong, one on what to do, and the line. Nothing else is raised for
    any bytes.
    """
    decoding.refuse_oversize(len(data), filename=filename, max_bytes=max_bytes)
    zone = clock.open_zone(time_zone)
    content = decoding.decode(data, filename=filename)
    text = months.as_numbers(content.text)
    found = layout.find_layout(text)
    table, cut = _read_table(text, found)
    kinds = columns.find_columns(
        found.heads,
        rows.sample(table),
        heads_line=found.heads_line,
        header_unit=header.temperature_unit(found.header),
    )
    hints = DateHints(date_order, expected_day, not_after.astimezone(zone).date() if not_after else None)
    context = TimeContext(zone, hints, repeated_hour, found)
    table, times = _in_order(table, kinds.time, context)
    sequence.refuse_future(times.utc_us, table.lines, not_after)
    readings = channels.read_channels(table, kinds.channels, unit_overrides or {})
    keep, dropped = sequence.kept_rows(times.utc_us, table.lines, readings.values)
    utc_us = times.utc_us[keep]
    if utc_us.size < 2:
        raise messages.too_few_samples(found.heads_line, utc_us.size)
    if all(np.isnan(readings.values[name]).all() for name in readings.temperatures):
        raise messages.no_readings(filename)
    day_notes, gap_notes = _other_day(utc_us, zone, expected_day), sequence.gap_notes(utc_us, table.lines[keep])
    return RecorderFile(
        trace=Trace(
            sequence.utc_datetime(int(utc_us[0])),
            (utc_us - utc_us[0]) / stamps.MICROSECONDS,
            {name: values[keep] for name, values in readings.values.items()},
        ),
        header=found.header,
        units_as_labelled=readings.units,
        suggested_roles=readings.roles,
        notes=(*cut, *times.notes, *day_notes, *dropped, *gap_notes, *readings.notes),
        delimiter=found.delimiter,
        decimal_mark=readings.decimal_mark,
        encoding=content.encoding,
    )


def _read_table(text: bytes, found: Layout) -> tuple[Table, tuple[str, ...]]:
    """The rows under the heads; raises InputError where there are fewer than two."""
    count, line = len(found.heads), found.body_line
    body, cut = last_line.without_cut_line(
        text[found.body_start :], first_line=line, delimiter=found.delimiter, count=count
    )
    table = rows.read_rows(body, first_line=line, delimiter=found.delimiter, count=count)
    if table.lines.size < 2:
        raise messages.too_few_samples(found.heads_line, table.lines.size)
    return table, cut


def _in_order(table: Table, time: TimeColumns, context: TimeContext) -> tuple[Table, UtcTimes]:
    """Rows with their times, oldest first; some recorders write the newest first. What is in neither order is refused
    as the file stands."""
    try:
        return table, timeline.utc_times(table, time, context)
    except InputError:
        turned = table.from_the_end()
        try:
            times = timeline.utc_times(turned, time, context)
        except InputError:
            times = None
        if times is None or times.utc_us[0] == times.utc_us[-1]:
            raise
    return turned, UtcTimes(times.utc_us, (messages.note_newest_first(), *times.notes))


def _other_day(utc_us: IntArray, zone: ZoneInfo, expected_day: date | None) -> tuple[str, ...]:
    first, last = (sequence.utc_datetime(int(utc_us[row])).astimezone(zone).date() for row in (0, -1))
    if expected_day is None or first <= expected_day <= last:
        return ()
    return (messages.note_other_day(first, last, expected_day),)
