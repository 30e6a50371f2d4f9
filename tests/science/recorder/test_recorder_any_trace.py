"""Whatever the trace and the layout, what is read back is what was recorded.

zoneinfo is the reference for times, float() for values.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.recorder import read_recorder_file
from haccp.science.recorder.cells import from_texts
from haccp.science.recorder.numerals import is_missing_mark, read_numbers
from tests.science.recorder.recorder_layouts import STAMPS, Written, seconds, write

# Changes of the clock in UTC. EU: Directive 2000/84/EC, last Sundays of March and October at 01:00 UTC. US: 15 USC
# 260a, second Sunday of March and first of November at 02:00 local time. Lord Howe changes by half an hour (IANA).
CHANGES = {
    "Europe/Paris": [datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)],
    "Europe/Dublin": [datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)],
    "America/New_York": [datetime(2026, 3, 8, 7, tzinfo=UTC), datetime(2026, 11, 1, 6, tzinfo=UTC)],
    "Australia/Lord_Howe": [datetime(2026, 4, 4, 15, tzinfo=UTC), datetime(2026, 10, 3, 15, 30, tzinfo=UTC)],
    "Asia/Kolkata": [datetime(2026, 7, 1, tzinfo=UTC)],
}
DATE_ORDERS = {"day_first": "dmy", "month_first": "mdy", "month_first_12h": "mdy"}


@st.composite
def layouts(draw: st.DrawFn) -> Written:
    delimiter = draw(st.sampled_from([",", ";", "\t"]))
    return Written(
        stamp=draw(st.sampled_from(sorted(STAMPS))),
        delimiter=delimiter,
        decimal_mark=draw(st.sampled_from([".", ","])),
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "latin-1"])),
        line_end=draw(st.sampled_from(["\n", "\r\n"])),
        decimals=draw(st.integers(1, 3)),
        missing=draw(st.sampled_from(["", "---", "NaN", "OL", "Err"])),
        header=tuple(draw(st.lists(st.tuples(st.sampled_from(["Place", "Note"]), st.just("Vat 1")), max_size=30))),
    )


@st.composite
def recordings(draw: st.DrawFn) -> tuple[ZoneInfo, list[datetime], list[list[float]]]:
    """Samples at an even step, near a change of the clock, with some readings missing."""
    name = draw(st.sampled_from(sorted(CHANGES)))
    around = draw(st.sampled_from(CHANGES[name])) + timedelta(seconds=draw(st.integers(-7200, 3600)))
    step_s = draw(st.sampled_from([1, 2, 10, 60, 300]))
    utc = seconds(around, draw(st.integers(2, 60)), step_s)
    reading = st.one_of(st.floats(-39, 105), st.floats(-39, 105), st.just(float("nan")))
    columns = [draw(st.lists(reading, min_size=len(utc), max_size=len(utc))) for _ in range(2)]
    assume(not all(np.isnan(value) for column in columns for value in column))
    return ZoneInfo(name), utc, columns


def passes(zone: ZoneInfo, utc: list[datetime]) -> set[int]:
    """The folds among the samples whose wall time happens twice."""
    local = [at.astimezone(zone) for at in utc]
    return {at.fold for at in local if at.utcoffset() != at.replace(fold=1 - at.fold).utcoffset()}


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(recordings(), layouts())
def test_any_trace_in_any_layout_reads_back_to_the_same_times_and_values(
    recording: tuple[ZoneInfo, list[datetime], list[list[float]]], how: Written
) -> None:
    zone, utc, columns = recording
    folds = passes(zone, utc)
    if how.stamp == "elapsed":
        assume(not passes(zone, utc[:1]))
    found = read_recorder_file(
        write(how, utc, zone, columns),
        filename="any.csv",
        time_zone=zone.key,
        date_order=DATE_ORDERS.get(how.stamp),  # type: ignore[arg-type]
        repeated_hour="second" if folds == {1} else "first",
    )
    assert [found.trace.at(t_s) for t_s in found.trace.t_s] == utc
    for values, column in zip(found.trace.channels.values(), columns, strict=True):
        wanted = [float(f"{value:.{how.decimals}f}") for value in column]
        np.testing.assert_array_equal(values, wanted)
    assert found.delimiter == how.delimiter
    assert found.decimal_mark == how.decimal_mark
    assert len(found.header) == len(how.header) + (how.stamp in ("elapsed", "clock_only"))


@settings(max_examples=150, deadline=None)
@given(recordings(), layouts(), st.data())
def test_a_file_cut_anywhere_gives_whole_samples_or_a_sentence(
    recording: tuple[ZoneInfo, list[datetime], list[list[float]]], how: Written, data: st.DataObject
) -> None:
    """A cut never makes a sample that was not recorded: no value and no time changes, for decimals stay whole."""
    zone, utc, columns = recording
    whole = write(replace(how, stamp="iso_offset"), utc, zone, columns)
    cut = whole[: data.draw(st.integers(0, len(whole)))]
    try:
        found = read_recorder_file(cut, filename="cut.csv", time_zone=zone.key)
    except InputError:
        return
    count = found.trace.t_s.size
    assert [found.trace.at(t_s) for t_s in found.trace.t_s] == utc[:count]
    for values, column in zip(found.trace.channels.values(), columns, strict=True):
        np.testing.assert_array_equal(values, [float(f"{value:.{how.decimals}f}") for value in column[:count]])


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
def test_random_bytes_raise_nothing_but_an_input_error(data: bytes) -> None:
    with pytest.raises(InputError):
        read_recorder_file(data, filename="noise.csv", time_zone="Europe/Paris")


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(recordings(), layouts(), st.data())
def test_a_damaged_file_gives_a_trace_or_an_input_error(
    recording: tuple[ZoneInfo, list[datetime], list[list[float]]], how: Written, data: st.DataObject
) -> None:
    zone, utc, columns = recording
    damaged = bytearray(write(how, utc, zone, columns))
    junk = st.one_of(
        st.binary(max_size=4), st.sampled_from([b'"', b"\n", b",", b";", b"\t", b"9999", b"-", b"e9", b" "])
    )
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(damaged)))
        damaged[at : at + data.draw(st.integers(0, 3))] = data.draw(junk)
    try:
        found = read_recorder_file(bytes(damaged), filename="damaged.csv", time_zone=zone.key)
    except InputError:
        return
    assert np.all(np.diff(found.trace.t_s) > 0)


numbers = st.from_regex(r"[+-]?[0-9]{1,17}([.,][0-9]{1,17})?([eE][+-]?[0-9]{1,2})?", fullmatch=True)


@settings(deadline=None)
@given(st.lists(numbers, min_size=1, max_size=20))
def test_numbers_are_those_that_python_reads(texts: list[str]) -> None:
    found = read_numbers(from_texts(texts))
    assert not found.faulty.any()
    np.testing.assert_array_equal(found.values, [float(text.replace(",", ".")) for text in texts])


@settings(deadline=None)
@given(st.lists(st.text(max_size=50).map(str.strip), min_size=1, max_size=20))
def test_a_cell_is_a_number_or_missing_or_faulty(texts: list[str]) -> None:
    texts = [text.replace("\0", "") for text in texts]
    found = read_numbers(from_texts(texts))
    for row, text in enumerate(texts):
        if found.missing[row]:
            assert is_missing_mark(text.strip())
        elif not found.faulty[row]:
            assert found.values[row] == float(text.replace(",", "."))
