"""The hour that happens twice and the hour that does not exist. Summer time in the EU ends and begins at 01:00 UTC
on the last Sundays of October and March (Directive 2000/84/EC); folds as in PEP 495."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from haccp.science.errors import InputError
from haccp.science.recorder import RecorderFile, read_recorder_file
from tests.science.recorder.recorder_layouts import PARIS, Written, seconds, write

AUTUMN = datetime(2026, 10, 25, 1, tzinfo=UTC)
SPRING = datetime(2026, 3, 29, 1, tzinfo=UTC)


def read(utc: list[datetime], *, zone: str = "Europe/Paris", **options: object) -> RecorderFile:
    values = [63.0 + 0.1 * (n % 3) for n in range(len(utc))]
    data = write(Written(), utc, ZoneInfo(zone), [values, values])
    return read_recorder_file(data, filename="vat.csv", time_zone=zone, **options)  # type: ignore[arg-type]


def walls(*texts: str) -> bytes:
    return ("Time,Milk (°C)\n" + "".join(f"2026-10-25 {text},63\n" for text in texts)).encode()


def failure(data: bytes, zone: str = "Europe/Paris") -> InputError:
    with pytest.raises(InputError) as caught:
        read_recorder_file(data, filename="vat.csv", time_zone=zone)
    return caught.value


def times(found: RecorderFile) -> list[datetime]:
    return [found.trace.at(t_s) for t_s in found.trace.t_s]


@pytest.mark.parametrize("step_s", [1, 10, 60, 300, 1800, 3600, 7200])
@pytest.mark.parametrize("change", [AUTUMN, SPRING])
def test_a_recording_runs_through_the_change(change: datetime, step_s: int) -> None:
    """From three hours before to three hours after, at the steps of vats and of ripening rooms."""
    utc = seconds(change - timedelta(hours=4), 8 * 3600 // step_s, step_s)
    found = read(utc)
    assert times(found) == utc
    assert any("The clock goes" in note or "twice" in note for note in found.notes)


def test_the_second_pass_is_named_by_its_line() -> None:
    found = read(seconds(AUTUMN - timedelta(seconds=3), 6))
    assert (
        "The clock goes back in Europe/Paris during this recording: the hour that happens twice was told apart by "
        "the order of the lines, and the second pass starts on line 8." in found.notes
    )


def test_the_skipped_hour_is_named_by_its_line() -> None:
    found = read(seconds(SPRING - timedelta(seconds=3), 6))
    assert (
        "The clock goes forward in Europe/Paris during this recording, before line 8; no time is missing there."
        in found.notes
    )


def test_a_recording_that_ends_within_the_first_pass() -> None:
    utc = seconds(AUTUMN - timedelta(minutes=70), 1200)
    assert times(read(utc)) == utc


def test_a_recording_that_begins_within_the_second_pass() -> None:
    utc = seconds(AUTUMN + timedelta(minutes=50), 1200)
    assert times(read(utc)) == utc


@pytest.mark.parametrize(("which", "offset_h"), [("first", 2), ("second", 1)])
def test_a_recording_within_the_repeated_hour_needs_an_answer(which: str, offset_h: int) -> None:
    utc = seconds(AUTUMN + timedelta(minutes=10 if which == "second" else -50), 600)
    with pytest.raises(InputError, match=r"happened twice in Europe/Paris.*Say whether it was the first"):
        read(utc)
    found = read(utc, repeated_hour=which)
    assert times(found) == utc
    assert found.trace.started_at.hour == 2 - offset_h


def test_a_gap_across_the_change_is_kept() -> None:
    utc = [at for at in seconds(AUTUMN - timedelta(minutes=20), 2400) if abs(at - AUTUMN) > timedelta(minutes=5)]
    found = read(utc)
    assert times(found) == utc
    assert any("1 gap in the recording" in note for note in found.notes)


def test_rows_swapped_within_the_repeated_hour_are_not_a_change_of_the_clock() -> None:
    error = failure(walls("02:10:00", "02:10:01", "02:10:03", "02:10:02", "02:10:04"))
    assert error.line in (2, 5)


def test_rows_swapped_after_the_clock_went_back_are_out_of_order() -> None:
    error = failure(walls("02:59:58", "02:59:59", "02:00:00", "02:00:02", "02:00:01", "02:00:03"))
    assert error.line == 6
    assert "out of order" in error.problem


def test_a_clock_set_back_by_hand_is_refused() -> None:
    error = failure(walls("05:00:00", "05:00:01", "04:00:02", "04:00:03"))
    assert error.line == 4
    assert "set back" in error.problem
    assert "UTC" in error.remedy


def test_a_recorder_that_keeps_one_time_all_year_is_told_apart() -> None:
    winter = ZoneInfo("Etc/GMT-1")
    for change, words in ((AUTUMN, "happens twice"), (SPRING, "does not exist")):
        utc = seconds(change - timedelta(hours=2), 4 * 3600 // 10, 10)
        data = write(Written(), utc, winter, [[63.0] * len(utc)] * 2)
        error = failure(data)
        assert words in error.problem
        assert "Etc/GMT-1" in error.remedy
        found = read_recorder_file(data, filename="vat.csv", time_zone="Etc/GMT-1")
        assert times(found) == utc


def test_half_an_hour_on_lord_howe_island() -> None:
    utc = seconds(datetime(2026, 4, 4, 14, 40, tzinfo=UTC), 2400)
    assert times(read(utc, zone="Australia/Lord_Howe")) == utc


def test_paris_is_not_needed_where_times_state_their_offset() -> None:
    utc = seconds(AUTUMN + timedelta(minutes=10), 600)
    data = write(Written(stamp="iso_offset"), utc, PARIS, [[63.0] * 600] * 2)
    assert times(read_recorder_file(data, filename="vat.csv", time_zone="Asia/Tokyo")) == utc
