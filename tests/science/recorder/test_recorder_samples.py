"""The sample files: still what their script writes, read as a person reads them, or refused with a sentence."""

import importlib.util
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from haccp.science.errors import InputError
from haccp.science.recorder import RecorderFile, read_recorder_file
from haccp.science.trace import FloatArray

FOLDER = Path(__file__).parents[3] / "fixtures" / "recorders"
VATS = ["vat_45min", "vat_45min_decimal_comma", "vat_autumn_hour", "vat_spring_hour", "vat_short_hold"]


def read(name: str) -> RecorderFile:
    data = (FOLDER / f"{name}.csv").read_bytes()
    return read_recorder_file(data, filename=f"{name}.csv", time_zone="Europe/Paris")


def longest_run_s(values: FloatArray, at_least: float) -> int:
    """Samples of the longest unbroken run; at one sample a second, its seconds."""
    met = "".join("1" if value >= at_least else "0" for value in values)
    return max(map(len, met.split("0")))


def test_the_script_writes_the_files_that_are_kept() -> None:
    spec = importlib.util.spec_from_file_location("make_files", FOLDER / "make_files.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    written = script.all_files()
    assert {path.name for path in FOLDER.glob("*.csv")} == set(written)
    for name, content in written.items():
        assert (FOLDER / name).read_bytes() == content, name


@pytest.mark.parametrize("name", VATS)
def test_a_vat_is_45_minutes_of_two_probes_at_one_sample_a_second(name: str) -> None:
    found = read(name)
    assert found.trace.t_s.tolist() == list(range(45 * 60))
    assert sorted(found.suggested_roles.values()) == ["air_space", "product"]
    for values in found.trace.channels.values():
        np.testing.assert_allclose(values * 10, np.round(values * 10), atol=1e-9)  # resolution 0.1 °C


def test_decimal_comma_and_point_are_the_same_recording() -> None:
    point, comma = read("vat_45min"), read("vat_45min_decimal_comma")
    assert (point.delimiter, point.decimal_mark, point.encoding) == (",", ".", "utf-8")
    assert (comma.delimiter, comma.decimal_mark, comma.encoding) == (";", ",", "cp1252")
    assert point.trace.started_at == comma.trace.started_at
    assert [values.tolist() for values in point.trace.channels.values()] == [
        values.tolist() for values in comma.trace.channels.values()
    ]
    assert comma.header["Ort"] == "Kessel 1"


# 63 °C for 30 minutes without a break: 21 CFR 1240.61(b); 853/2004 Annex III, section IX, chapter II, part II.
@pytest.mark.parametrize(("name", "holds"), [(name, name != "vat_short_hold") for name in VATS])
def test_which_vats_hold_63_degrees_for_30_minutes(name: str, holds: bool) -> None:
    found = read(name)
    (product,) = (channel for channel, role in found.suggested_roles.items() if role == "product")
    held_s = longest_run_s(found.trace.channels[product], 63.0)
    assert (held_s >= 30 * 60) == holds
    if not holds:
        assert held_s == pytest.approx(25 * 60, abs=60)


# Directive 2000/84/EC: summer time ends and begins at 01:00 UTC.
def test_the_autumn_file_passes_through_the_hour_twice() -> None:
    found = read("vat_autumn_hour")
    assert found.trace.started_at == datetime(2026, 10, 25, 0, 40, tzinfo=UTC)
    text = (FOLDER / "vat_autumn_hour.csv").read_text().split("\n")
    line = int(next(note for note in found.notes if "happens twice" in note).rstrip(".").rsplit(" ", 1)[1])
    assert text[line - 2].startswith("2026-10-25 02:59:59")
    assert text[line - 1].startswith("2026-10-25 02:00:00")
    assert found.trace.at(line - 7) == datetime(2026, 10, 25, 1, tzinfo=UTC)


def test_the_spring_file_jumps_over_the_hour() -> None:
    found = read("vat_spring_hour")
    assert found.trace.started_at == datetime(2026, 3, 29, 0, 40, tzinfo=UTC)
    assert any("goes forward" in note for note in found.notes)
    assert not any("gap" in note for note in found.notes)


def test_the_continuous_file_has_flow_and_valve_beside_the_temperature() -> None:
    found = read("thermise_continuous")
    assert found.units_as_labelled == {"Holding tube outlet": "°C", "Flow": "L/h", "Divert valve": ""}
    assert found.suggested_roles["Holding tube outlet"] == "product"
    divert, outlet = found.trace.channels["Divert valve"], found.trace.channels["Holding tube outlet"]
    assert set(divert) == {0.0, 1.0}
    assert outlet[divert == 0].min() >= 64.5


@pytest.mark.parametrize(
    ("name", "line", "words"),
    [
        ("bad_empty", None, "is empty"),
        ("bad_binary", None, "binary format"),
        ("bad_truncated_header", 4, "before any line of column heads"),
        ("bad_shuffled", 102, "first line out of order"),
        ("bad_duplicates", 202, "The time is that of line 201"),
        ("bad_sentinel_9999", 150, "9999 °C"),
        ("bad_fahrenheit_labelled_celsius", 7, "looks like °F"),
    ],
)
def test_bad_files_are_refused(name: str, line: int | None, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read(name)
    assert caught.value.line == line
    assert words in caught.value.problem
    assert caught.value.remedy


def test_a_cut_last_line_is_left_out() -> None:
    found = read("bad_truncated")
    assert found.trace.t_s.size == 299
    assert found.notes[0].startswith("Line 306 is cut off")
