"""Every bad file gets one sentence on what is wrong, one on what to do, and the line where there is one."""

from datetime import UTC, datetime

import numpy as np
import pytest

from haccp.science.errors import InputError
from haccp.science.recorder import MAX_BYTES, read_recorder_file, refuse_oversize

HEADS = "Recorder,0417\n\nTime,Milk (°C),Air space (°C)\n"
FIRST = 4


def rows(*readings: str, start: int = 0) -> str:
    """Rows a second apart; each of `readings` is what stands after the time."""
    return "".join(f"2026-03-14 09:30:{start + n:02d},{reading}\n" for n, reading in enumerate(readings))


def failure(data: str | bytes, **options: object) -> InputError:
    content = data.encode() if isinstance(data, str) else data
    with pytest.raises(InputError) as caught:
        read_recorder_file(content, filename="vat.csv", time_zone="Europe/Paris", **options)  # type: ignore[arg-type]
    error = caught.value
    for sentence in (error.problem, error.remedy):
        assert sentence.endswith(".")
        assert "\n" not in sentence
    assert str(error).startswith(f"Line {error.line}: " if error.line else error.problem)
    return error


def refused(data: str | bytes, line: int | None, problem: str, remedy: str, **options: object) -> None:
    error = failure(data, **options)
    assert error.line == line
    assert problem in error.problem
    assert remedy in error.remedy


@pytest.mark.parametrize("data", [b"", b" \r\n\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\0\0\0\0"])
def test_an_empty_file(data: bytes) -> None:
    refused(data, None, "vat.csv is empty", "again")


@pytest.mark.parametrize(
    ("magic", "seems"),
    [
        (b"PK\x03\x04\x14\x00\x06\x00", "a spreadsheet workbook (.xlsx) or a zip archive"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old spreadsheet workbook (.xls)"),
        (b"%PDF-1.7\n", "a PDF document"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"\x1f\x8b\x08\x00", "a compressed archive"),
        (b"<!DOCTYPE html><html>", "a web page"),
        (b"RUN1\x00\x01\x02\x9f\xff\x00\x07", "a program's own binary format"),
        (b"RUN1\x01\x02readings", "a program's own binary format"),
    ],
)
def test_a_binary_file_is_named(magic: bytes, seems: str) -> None:
    refused(magic + b"rest", None, f"it seems to be {seems}", "as CSV")


def test_a_file_of_200_mib_is_refused_from_its_size() -> None:
    class Untouchable(bytes):
        """A large file whose content must not be looked at."""

        def __len__(self) -> int:
            return 200 * 2**20

        def __getattribute__(self, name: str) -> object:
            raise AssertionError(f"The content was read ({name}).")

    with pytest.raises(InputError, match=r"vat\.csv is 200\.0 MiB, and at most 64\.0 MiB are read\. Export only"):
        read_recorder_file(Untouchable(), filename="vat.csv", time_zone="Europe/Paris")
    with pytest.raises(InputError):
        refuse_oversize(MAX_BYTES + 1, filename="vat.csv", max_bytes=MAX_BYTES)
    refuse_oversize(MAX_BYTES, filename="vat.csv", max_bytes=MAX_BYTES)


def test_the_largest_size_can_be_set() -> None:
    refused(HEADS + rows("63,66", "63,66"), None, "at most 0.0 MiB", "Export only", max_bytes=20)


def test_an_overlong_line() -> None:
    refused(HEADS + rows("63,66", "63," + "6" * 20_000, "63,66"), FIRST + 1, "characters", "one row for each")


def test_readings_without_heads() -> None:
    refused("Recorder,0417\n\n" + rows("63,66", "63,66"), 3, "without a line of column heads", "line of heads")


@pytest.mark.parametrize("text", ["Recorder,0417\nPlace,Vat 1\n", "Recorder,0417\nPla", "hello", "a,b\nc,d\n"])
def test_a_file_cut_inside_its_header(text: str) -> None:
    line = len(text.rstrip("\n").split("\n"))
    refused(text, line, "ends here, before any line of column heads", "whole file")


def test_a_header_without_end() -> None:
    refused("Setting,on\n" * 6000, 5000, "first 5,000 lines", "directly above the readings")


@pytest.mark.parametrize(("body", "count"), [("", "0 readings"), (rows("63,66"), "1 reading,")])
def test_too_few_samples(body: str, count: str) -> None:
    refused(HEADS + body, 3, count, "whole recording")


def test_two_rows_of_one_sample_are_one_sample() -> None:
    refused(HEADS + rows("63,66") * 2, 3, "1 reading", "whole recording")


def test_no_time_column() -> None:
    refused("Milk (°C),Air (°C)\n63,66\n63,66\n", 1, "“Milk (°C)”, “Air (°C)” holds times", "date and time")


def test_no_temperature_column() -> None:
    text = "Time,Flow (L/h),Pressure (bar)\n" + rows("500,2", "501,2")
    refused(text, 1, "is a temperature", "such as Milk (°C)")


def test_no_reading_at_all() -> None:
    refused(HEADS + rows(",", "---,NaN"), None, "Every temperature in vat.csv is missing", "plugged in")


@pytest.mark.parametrize(
    ("bad", "problem", "remedy"),
    [
        ("63", "2 fields where the column heads have 3", "Put the missing fields back"),
        ("63,66,1", "4 fields where the column heads have 3", "Remove the extra fields"),
        ('63,"66', "quotation mark is opened here", "Close or remove"),
        ('63,"6"6', "quotation mark is opened here", "Close or remove"),
        ("63,warm", "Air space reads “warm”", "leave the cell empty"),
        ("63,66.", "Air space reads “66.”", "leave the cell empty"),
        ("63,1 066", "Air space reads “1 066”", "leave the cell empty"),
    ],
)
def test_a_faulty_row_is_named(bad: str, problem: str, remedy: str) -> None:
    refused(HEADS + rows("63,66", "63,66", bad, "63,66"), FIRST + 2, problem, remedy)


def test_blank_lines_do_not_shift_the_line_number() -> None:
    refused(HEADS + rows("63,66") + "\n\n" + rows("63,66", "63", start=1), FIRST + 4, "2 fields", "Put")


def test_decimal_commas_between_commas() -> None:
    text = HEADS + rows("63,1,66,2", "63,2,66,3")
    refused(text, FIRST, "both the decimal mark and the mark between fields", "semicolons")


def test_mixed_decimal_marks() -> None:
    text = (HEADS + rows("63,66", "63,66")).replace(",", ";").replace("63", "63,1").replace("66", "66,1")
    refused(text + "2026-03-14 09:30:02;63,1;66.1\n", FIRST + 2, "decimal point", "one decimal mark throughout")


@pytest.mark.parametrize("value", ["9999", "-9999", "32767", "-32768", "999.9", "-127", "65535"])
def test_a_mark_for_a_broken_probe(value: str) -> None:
    text = HEADS + rows("63,66", "63,66", f"63,{value}", f"63,{value}")
    refused(text, FIRST + 2, f"Air space reads {value} °C, a recorder's mark for a broken probe", "unplugged")


@pytest.mark.parametrize("value", ["-40.1", "160.1", "110.1", "1e9", "500"])
def test_a_value_that_cannot_be(value: str) -> None:
    text = HEADS + rows(*["63,66"] * 30, f"{value},66")
    refused(text, FIRST + 30, "outside the −40 to 110 °C", "leave the cell empty where the recorder marks a break")


def test_steam_may_be_hotter_than_milk() -> None:
    text = "Time,Milk (°C),Steam (°C)\n"
    found = read_recorder_file((text + rows("63,150", "63,151")).encode(), filename="vat.csv", time_zone="Europe/Paris")
    assert found.trace.channels["Steam"].tolist() == [150, 151]
    refused(text + rows("63,150", "63,161"), 3, "Steam reads 161 °C, outside the −40 to 160 °C", "unplugged")


class TestFahrenheitUnderALabelOfCelsius:
    """Milk held at 145 °F; 130 to 185 cannot be °C of milk, and 54 to 85 °C can."""

    TEXT = HEADS + rows(*["145.2,151.3"] * 20)

    def test_it_is_named(self) -> None:
        refused(self.TEXT, FIRST, "Milk is labelled °C and runs from 145.2 to 145.2: it looks like °F", "choose °F")

    def test_it_is_named_where_the_milk_is_still_cold_most_of_the_time(self) -> None:
        text = HEADS + rows(*["41,66"] * 30, *["145,66"] * 10)
        refused(text, FIRST + 30, "it looks like °F", "Correct the label")

    def test_it_is_named_without_a_label(self) -> None:
        refused(self.TEXT.replace(" (°C)", ""), FIRST, "Milk has no unit", "choose °F")

    def test_choosing_the_unit_mends_it(self) -> None:
        found = read_recorder_file(
            self.TEXT.encode(),
            filename="vat.csv",
            time_zone="Europe/Paris",
            unit_overrides={"Milk": "°F", "Air space": "°F"},
        )
        np.testing.assert_allclose(found.trace.channels["Milk"], (145.2 - 32) / 1.8)
        assert found.units_as_labelled["Milk"] == "°C"
        assert "Milk was read as °F, as chosen, though it is labelled “°C”." in found.notes

    def test_a_choice_that_does_not_exist(self) -> None:
        cream = {"Cream": "°F"}
        refused(self.TEXT, None, "no temperature column named “Cream”", "Milk, Air space", unit_overrides=cream)
        refused(self.TEXT, None, "“K” is not a unit", "°C or °F", unit_overrides={"Milk": "K"})


def test_times_that_go_back() -> None:
    text = HEADS + rows("63,66", "63,66", "63,66") + rows("63,66", start=1) + rows("63,66", start=4)
    refused(text, FIRST + 3, "goes back from 2026-03-14 09:30:02 to 09:30:01", "oldest first")


def test_neither_oldest_nor_newest_first() -> None:
    text = HEADS + rows("63,66", start=8) + rows("63,66", start=9) + rows("63,66", start=7)
    refused(text, FIRST + 2, "first line out of order", "oldest first")


def test_one_row_twice_is_dropped_with_a_note() -> None:
    text = HEADS + rows("63,66", "63.1,66") + rows("63.1,66", "63.2,66", start=1)
    found = read_recorder_file(text.encode(), filename="vat.csv", time_zone="Europe/Paris")
    assert found.trace.channels["Milk"].tolist() == [63, 63.1, 63.2]
    assert "1 row repeated the row before and was dropped, the first on line 6." in found.notes


def test_two_values_at_one_time() -> None:
    text = HEADS + rows("63,66", "63.1,66") + rows("63.4,66", "63.2,66", start=1)
    refused(text, FIRST + 2, "The time is that of line 5, and the readings differ", "lines 5 and 6")


def test_a_time_in_the_future() -> None:
    now = datetime(2026, 3, 14, 8, 30, 1, tzinfo=UTC)
    refused(
        HEADS + rows("63,66", "63,66", "63,66"),
        FIRST + 2,
        "08:30:02 UTC is later than now, 2026-03-14 08:30:01 UTC",
        "recorder's clock",
        not_after=now,
    )


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("2026-02-30 09:30:00", "not a date and time of the calendar"),
        ("2026-03-14 24:30:00", "not a date and time of the calendar"),
        ("2026-03-14 09:60:00", "not a date and time of the calendar"),
        ("2026-03-14 13:00:00 pm", "not a date and time of the calendar"),
        ("0203-03-14 09:30:00", "not a date and time of the calendar"),
        ("", "which is not a time"),
        ("half past nine", "which is not a time"),
        ("2026-03-14 09:30", "out of order"),
        ("2026-03-14 09:30:09Z", "Some times state their offset"),
    ],
)
def test_a_time_that_is_none(text: str, problem: str) -> None:
    refused(HEADS + rows("63,66", "63,66") + f"{text},63,66\n" + rows("63,66", start=10), FIRST + 2, problem, "")


def test_times_that_no_line_has_in_a_known_layout() -> None:
    refused("Time,Milk (°C)\n9h30,63\n9h31,63\n", 2, "Time reads “9h30”", "2026-03-14 09:30:00")


def test_a_day_that_may_be_a_month() -> None:
    text = "Time,Milk (°C)\n03/04/2026 09:30:00,63\n03/04/2026 09:30:01,63\n"
    refused(text, 2, "can be day/month or month/day", "Say which comes first")


def test_a_header_date_that_may_be_a_month_is_named_by_its_line() -> None:
    text = "Recorder,0417\nDate,03/04/2026\nTime,Milk (°C)\n09:30:00,63\n09:30:01,63\n"
    refused(text, 2, "can be day/month or month/day", "Say which comes first")


def test_times_of_day_without_a_date() -> None:
    refused("Time,Milk (°C)\n09:30:00,63\n09:30:01,63\n", 1, "no date", "Date, 2026-03-14")
    text = "Calibration date,2025-11-02\nBatch,2026-01-07\nTime,Milk (°C)\n09:30:00,63\n09:30:01,63\n"
    refused(text, 3, "no date", "Date, 2026-03-14")


def test_elapsed_time_without_a_start() -> None:
    refused("Elapsed (s),Milk (°C)\n0,63\n1,63\n", 1, "no start time", "Start, 2026-03-14 09:30:00")


def test_elapsed_time_that_is_no_number() -> None:
    text = "Start,2026-03-14 09:30:00\nElapsed (s),Milk (°C)\n0,63\n1,63\nx,63\n"
    refused(text, 5, "Elapsed (s) reads “x”", "Correct the number")


def test_an_unknown_time_zone() -> None:
    with pytest.raises(InputError, match="no time zone named “Europe/Atlantis”"):
        read_recorder_file(HEADS.encode(), filename="vat.csv", time_zone="Europe/Atlantis")


class TestACutLastLine:
    """A file that ends without a line end, as when a recorder is unplugged while it is copied."""

    TAILS = ("", ",63.1", ",63.1,", ",63.1,6", ",63.1,66.", ',63.1,"66.2')

    @pytest.mark.parametrize("tail", ["2", "2026-03-14 09:3", *(f"2026-03-14 09:30:03{tail}" for tail in TAILS)])
    def test_it_is_left_out_with_a_note(self, tail: str) -> None:
        text = HEADS + rows("63.1,66.1", "63.1,66.2", "63.1,66.3") + tail
        found = read_recorder_file(text.encode(), filename="vat.csv", time_zone="Europe/Paris")
        assert found.trace.t_s.tolist() == [0, 1, 2]
        note = "Line 7 is cut off at the end of the file and was left out; all lines before it are whole."
        assert note in found.notes

    def test_a_whole_one_is_kept(self) -> None:
        text = HEADS + rows("63.1,66.1", "63.1,66.2", "63.1,66.3").rstrip("\n")
        found = read_recorder_file(text.encode(), filename="vat.csv", time_zone="Europe/Paris")
        assert found.trace.t_s.tolist() == [0, 1, 2]

    def test_a_fault_before_it_is_still_a_fault(self) -> None:
        refused(HEADS + rows("63.1,66.1", "63.1", "63.1,66.3") + "2026-03-", FIRST + 1, "2 fields", "Put")
