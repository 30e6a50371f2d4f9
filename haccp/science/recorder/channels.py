"""The values of every channel: numbers, decimal mark, unit, plausibility."""

from dataclasses import dataclass, field

import numpy as np

from haccp.science.recorder import columns, messages, numerals, plausible
from haccp.science.recorder.cells import IntArray
from haccp.science.recorder.columns import Channel, Role
from haccp.science.recorder.numerals import Numbers
from haccp.science.recorder.rows import Table
from haccp.science.trace import FloatArray


@dataclass(slots=True)
class Readings:
    """values: channel -> (n,), °C for temperatures. temperatures: their names. units: as labelled."""

    decimal_mark: str = "."
    values: dict[str, FloatArray] = field(default_factory=dict)
    temperatures: list[str] = field(default_factory=list)
    units: dict[str, str] = field(default_factory=dict)
    roles: dict[str, Role] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def read_channels(table: Table, channels: tuple[Channel, ...], chosen_units: dict[str, str]) -> Readings:
    """Read every channel; a column that is neither temperature nor number is left out with a note.

    chosen_units: channel -> "°C" or "°F", against its label. Raises InputError naming line and channel.
    """
    chosen = _chosen_scales(channels, chosen_units)
    numbers = {channel.name: numerals.read_numbers(table.cells(channel.index)) for channel in channels}
    temperatures = [channel for channel in channels if channel.scale]
    for channel in temperatures:
        _refuse_faulty(table, channel, numbers[channel.name])
    readings = Readings(_decimal_mark(table, temperatures, numbers))
    for channel in channels:
        found = numbers[channel.name]
        why = None if channel.scale else _why_left_out(found, readings.decimal_mark)
        if why:
            readings.notes.append(messages.note_left_out(channel.name, why))
        else:
            _add(readings, table, channel, found, chosen.get(channel.name))
    return readings


def _chosen_scales(channels: tuple[Channel, ...], chosen_units: dict[str, str]) -> dict[str, str]:
    names = [channel.name for channel in channels if channel.scale]
    scales = {}
    for name, unit in chosen_units.items():
        scale = columns.scale_named(unit)
        if name not in names:
            raise messages.unknown_channel(name, names)
        if scale is None:
            raise messages.unknown_unit(unit)
        scales[name] = scale
    return scales


def _refuse_faulty(table: Table, channel: Channel, found: Numbers) -> None:
    faulty = np.flatnonzero(found.faulty)
    if faulty.size:
        row = int(faulty[0])
        raise messages.not_a_number(int(table.lines[row]), channel.name, table.cells(channel.index).text(row))


def _decimal_mark(table: Table, temperatures: list[Channel], numbers: dict[str, Numbers]) -> str:
    """The one decimal mark of the temperatures. Raises InputError where both are used."""
    commas = sum(int(numbers[channel.name].comma.sum()) for channel in temperatures)
    points = sum(int(numbers[channel.name].point.sum()) for channel in temperatures)
    usual = "," if commas > points else "."
    if commas and points:
        odd = {channel: _with_mark(numbers[channel.name], "." if usual == "," else ",") for channel in temperatures}
        channel = min((one for one, rows in odd.items() if rows.size), key=lambda one: int(odd[one][0]))
        row = int(odd[channel][0])
        text = table.cells(channel.index).text(row)
        raise messages.mixed_decimal_marks(int(table.lines[row]), channel.name, text, usual)
    return usual


def _with_mark(found: Numbers, mark: str) -> IntArray:
    return np.flatnonzero(found.comma if mark == "," else found.point)


def _why_left_out(found: Numbers, decimal_mark: str) -> str | None:
    if found.faulty.any():
        return "it holds text"
    if found.missing.all():
        return "it is empty"
    if _with_mark(found, "," if decimal_mark == "." else ".").size:
        return "its decimal mark is not that of the temperatures"
    return None


def _add(readings: Readings, table: Table, channel: Channel, found: Numbers, chosen: str | None) -> None:
    values = found.values
    if channel.scale:
        scale = chosen or channel.scale
        probe = plausible.Probe(channel.name, f"°{scale}", channel.unit, chosen is not None, channel.hot)
        values = plausible.to_celsius(values, table.lines, probe)
        readings.temperatures.append(channel.name)
        readings.notes += _unit_notes(channel, scale, chosen is not None)
    if found.missing.any():
        first = int(table.lines[np.flatnonzero(found.missing)[0]])
        readings.notes.append(messages.note_missing(channel.name, int(found.missing.sum()), first))
    readings.values[channel.name] = values
    readings.units[channel.name] = channel.unit
    readings.roles[channel.name] = channel.role


def _unit_notes(channel: Channel, scale: str, is_chosen: bool) -> list[str]:
    notes = []
    if is_chosen:
        notes.append(messages.note_unit_chosen(channel.name, f"°{scale}", channel.unit))
    elif not channel.stated:
        notes.append(messages.note_assumed_celsius(channel.name))
    elif not channel.unit:
        notes.append(messages.note_header_unit(channel.name, f"°{scale}"))
    if scale == "F":
        notes.append(messages.note_converted(channel.name))
    return notes
