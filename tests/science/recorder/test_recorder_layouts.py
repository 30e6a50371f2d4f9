"""Each layout in which recorders write, one at a time."""

from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import product

import numpy as np
import pytest

from haccp.science.errors import InputError
from haccp.science.recorder import RecorderFile, read_recorder_file
from tests.science.recorder.recorder_layouts import PARIS, STAMPS, Written, seconds, write

START = datetime(2026, 3, 14, 9, 30, tzinfo=PARIS)
MILK = [62.9, 63.0, 63.1, 63.2]
LINE_ENDS = ["\n", "\r\n", "\r"]
AIR = [66.0, 66.1, 66.2, 66.3]


def read(data: bytes | str, **options: object) -> RecorderFile:
    content = data.encode() if isinstance(data, str) else data
    return read_recorder_file(content, filename="vat.csv", time_zone="Europe/Paris", **options)  # type: ignore[arg-type]


def written(how: Written) -> RecorderFile:
    return read(write(how, seconds(START, 4), PARIS, [MILK, AIR]))


def is_whole(found: RecorderFile) -> bool:
    milk, air = found.trace.channels.values()
    return (
        found.trace.started_at == START
        and found.trace.t_s.tolist() == [0, 1, 2, 3]
        and milk.tolist() == MILK
        and air.tolist() == AIR
    )


@pytest.mark.parametrize(
    ("delimiter", "mark", "encoding", "line_end"),
    list(product(",;\t", ".,", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"], LINE_ENDS)),
)
def test_delimiters_decimal_marks_encodings_and_line_ends(
    delimiter: str, mark: str, encoding: str, line_end: str
) -> None:
    how = Written(delimiter=delimiter, decimal_mark=mark, encoding=encoding, line_end=line_end)
    found = written(how)
    assert is_whole(found)
    assert (found.delimiter, found.decimal_mark) == (delimiter, mark)
    assert found.encoding == ("utf-16" if "16" in encoding else encoding)


@pytest.mark.parametrize("stamp", sorted(STAMPS))
def test_layouts_of_date_and_time(stamp: str) -> None:
    assert is_whole(written(Written(stamp=stamp)))


@pytest.mark.parametrize("count", [0, 1, 60, 900])
def test_a_header_of_any_length(count: int) -> None:
    how = Written(header=tuple((f"Setting {number}", f"{number}") for number in range(count)))
    found = written(how)
    assert is_whole(found)
    assert found.header == dict(how.header)


def test_header_lines_in_several_forms_are_kept() -> None:
    found = read(
        "# Two-channel recorder\nPlace: Vat 1\nInterval = 1 s\nNote,slow, steady\nNote,lid closed\n\n"
        "Time,Milk (°C)\n2026-03-14 09:30:00,63.0\n2026-03-14 09:30:01,63.1\n"
    )
    assert found.header == {
        "Two-channel recorder": "",
        "Place": "Vat 1",
        "Interval": "1 s",
        "Note": "slow steady",
        "Note (2)": "lid closed",
    }


def test_a_table_of_channels_in_the_header_is_not_taken_for_the_readings() -> None:
    found = read(
        "Channel,Name,Unit,Low,High\n1,Milk,°C,63,72\n2,Air,°C,66,90\n\n"
        "Time,Milk (°C),Air (°C)\n2026-03-14 09:30:00,63.0,66.0\n2026-03-14 09:30:01,63.1,66.1\n"
    )
    assert found.trace.channels["Milk"].tolist() == [63.0, 63.1]


def test_units_on_a_line_of_their_own() -> None:
    found = read("Time;Milk;Flow\nhh:mm:ss;°F;L/h\n2026-03-14 09:30:00;145,0;500\n2026-03-14 09:30:01;146,0;501\n")
    assert found.units_as_labelled == {"Milk": "°F", "Flow": "L/h"}
    assert found.trace.channels["Milk"][0] == pytest.approx(62.7778, abs=1e-4)


def test_a_line_of_units_may_stop_before_the_last_column() -> None:
    found = read("Time;Milk;Divert valve\ns;°C\n2026-03-14 09:30:00;63,0;0\n2026-03-14 09:30:01;63,1;1\n")
    assert found.units_as_labelled == {"Milk": "°C", "Divert valve": ""}
    assert found.trace.channels["Divert valve"].tolist() == [0, 1]


# NIST SP 811, appendix B.9: t/°C = (t/°F − 32)/1.8. 145 °F and 161 °F are the published pairs of 63 °C and 72 °C
# in 21 CFR 1240.61(b), which rounds them.
@pytest.mark.parametrize("unit", ["°F", "F", "degF", "deg F", "Fahrenheit", "ºF"])
def test_fahrenheit_is_converted(unit: str) -> None:
    found = read(f"Time,Milk ({unit})\n2026-03-14 09:30:00,145\n2026-03-14 09:30:01,161\n2026-03-14 09:30:02,32\n")
    np.testing.assert_allclose(found.trace.channels["Milk"], [113 / 1.8, 129 / 1.8, 0.0], atol=1e-12)
    assert found.units_as_labelled == {"Milk": unit}
    assert "Milk was converted from °F to °C." in found.notes


@pytest.mark.parametrize(
    ("head", "name", "unit"),
    [
        ("Milk (°C)", "Milk", "°C"),
        ("Milk [C]", "Milk", "C"),
        ("Milk degC", "Milk", "degC"),
        ("Milk, °C", "Milk", "°C"),
        ("Milk_C", "Milk", "C"),
        ("Temperature C", "Temperature", "C"),
        ("Probe C", "Probe C", ""),
        ("Milk", "Milk", ""),
        ("°C", "°C", "°C"),
    ],
)
def test_heads_of_temperature_columns(head: str, name: str, unit: str) -> None:
    quoted = f'"{head}"' if "," in head else head
    found = read(f"Time,{quoted}\n2026-03-14 09:30:00,63.0\n2026-03-14 09:30:01,63.1\n")
    assert found.units_as_labelled == {name: unit}
    assert found.trace.channels[name].tolist() == [63.0, 63.1]
    assert (f"{name} has no unit in its head and was read as °C." in found.notes) == (unit == "")


def test_a_unit_in_the_header_holds_for_heads_without_one() -> None:
    found = read("Unit,°F\nTime,Milk\n2026-03-14 09:30:00,145\n2026-03-14 09:30:01,146\n")
    assert found.trace.channels["Milk"][0] == pytest.approx(113 / 1.8)
    assert "Milk was read in °F, as the header says." in found.notes


def test_roles_are_suggested_by_name() -> None:
    heads = ["Milk (°C)", "Air space (°C)", "Jacket water (°C)", "Room air (°C)", "Flow (L/h)", "Divert valve"]
    found = read(
        "Time," + ",".join(heads) + "\n2026-03-14 09:30:00,63,66,80,20,500,0\n2026-03-14 09:30:01,63,66,80,20,501,1\n"
    )
    assert found.suggested_roles == {
        "Milk": "product",
        "Air space": "air_space",
        "Jacket water": "other",
        "Room air": "other",
        "Flow": "other",
        "Divert valve": "other",
    }
    assert found.trace.channels["Divert valve"].tolist() == [0, 1]


def test_a_column_of_text_and_a_counter_are_not_channels() -> None:
    found = read("No.,Time,Milk (°C),Valve\n1,2026-03-14 09:30:00,63.0,forward\n2,2026-03-14 09:30:01,63.1,divert\n")
    assert list(found.trace.channels) == ["Milk"]
    assert "The column “Valve” was left out: it holds text." in found.notes


def test_a_number_in_the_name_of_a_vat_is_no_counter() -> None:
    found = read("No.,Time,Vat No. 2 (°C),Vat no 3\n1,2026-03-14 09:30:00,63.0,64\n2,2026-03-14 09:30:01,63.1,64\n")
    assert found.suggested_roles == {"Vat No. 2": "product", "Vat no 3": "product"}


def test_two_columns_of_one_name_are_both_kept() -> None:
    found = read("Time,Milk (°C),Milk (°C)\n2026-03-14 09:30:00,63,64\n2026-03-14 09:30:01,63,64\n")
    assert list(found.trace.channels) == ["Milk", "Milk 2"]


@pytest.mark.parametrize("mark", ["", "---", "NaN", "OL", "Err", " "])
def test_missing_readings_become_nan_and_are_counted(mark: str) -> None:
    found = read(f"Time,Milk (°C)\n2026-03-14 09:30:00,63\n2026-03-14 09:30:01,{mark}\n2026-03-14 09:30:02,{mark}\n")
    assert np.isnan(found.trace.channels["Milk"]).tolist() == [False, True, True]
    assert "Milk: 2 readings missing, the first on line 3." in found.notes


def test_a_byte_that_the_western_code_page_lacks_is_no_hindrance() -> None:
    data = b"Place,\x81\nTime,Milk (\xb0C)\n2026-03-14 09:30:00,63\n2026-03-14 09:30:01,63\n"
    assert read(data).encoding == "latin-1"


# RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z; 1985-04-12T23:20:50.52Z has a fraction.
def test_stamps_of_rfc_3339() -> None:
    found = read("Time,Milk (°C)\n1996-12-19T16:39:57-08:00,63\n1996-12-20T00:39:58Z,63\n")
    assert found.trace.started_at == datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)
    assert found.trace.t_s.tolist() == [0, 1]
    found = read("Time,Milk (°C)\n1985-04-12T23:20:50.52Z,63\n1985-04-12T23:20:51.02Z,63\n")
    assert found.trace.started_at == datetime(1985, 4, 12, 23, 20, 50, 520000, tzinfo=UTC)
    assert found.trace.t_s.tolist() == [0, 0.5]


def test_a_head_that_says_utc_is_believed() -> None:
    found = read("Time (UTC+1),Milk (°C)\n2026-07-14 09:30:00,63\n2026-07-14 09:30:01,63\n")
    assert found.trace.started_at == datetime(2026, 7, 14, 8, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("clock", "hour"), [("12:00:00 AM", 0), ("1:00:00 am", 1), ("12:00:00 PM", 12), ("11:00:00 p.m.", 23)]
)
def test_the_clock_of_twelve_hours(clock: str, hour: int) -> None:
    found = read(f"Date,Time,Milk (°C)\n2026-03-14,{clock},63\n2026-03-14,{clock.replace('00:00', '00:01')},63\n")
    assert found.trace.started_at == datetime(2026, 3, 14, hour, tzinfo=PARIS)


def test_times_of_day_pass_midnight() -> None:
    header = "Calibration date,2025-11-02\nBatch,2026-01-07\nDate,2026-03-14\n"
    found = read(header + "Time,Milk (°C)\n23:59:59,63\n00:00:00,63\n00:00:01,63\n")
    assert "The date was taken from the header, “2026-03-14”." in found.notes
    assert found.trace.started_at == datetime(2026, 3, 14, 23, 59, 59, tzinfo=PARIS)
    assert found.trace.t_s.tolist() == [0, 1, 2]


def test_elapsed_minutes_from_a_start_on_two_header_lines() -> None:
    found = read("Date,14.03.2026\nStart time,09:30:00\nElapsed (min),Milk (°C)\n0,63\n0.5,63\n1,63\n")
    assert found.trace.started_at == START
    assert found.trace.t_s.tolist() == [0, 30, 60]


class TestDayAndMonth:
    """Dates that can be read in two ways."""

    @staticmethod
    def rows(*dates: str) -> str:
        return "Time,Milk (°C)\n" + "".join(f"{day} 09:30:{n:02d},63\n" for n, day in enumerate(dates))

    def test_a_day_above_twelve_tells(self) -> None:
        assert read(self.rows("13/03/2026", "13/03/2026")).trace.started_at.month == 3
        assert read(self.rows("03/13/2026", "03/13/2026")).trace.started_at.month == 3

    def test_days_that_follow_each_other_tell(self) -> None:
        found = read(self.rows("03/04/2026", "04/04/2026"))
        assert found.trace.started_at.date() == date(2026, 4, 3)
        assert "Dates were read as day/month: so the days follow each other." in found.notes

    def test_the_day_of_the_make_tells(self) -> None:
        rows = self.rows("03/04/2026", "03/04/2026")
        assert read(rows, expected_day=date(2026, 4, 3)).trace.started_at.date() == date(2026, 4, 3)
        assert read(rows, expected_day=date(2026, 3, 4)).trace.started_at.date() == date(2026, 3, 4)

    def test_the_order_that_lies_in_the_past_is_taken(self) -> None:
        now = datetime(2026, 3, 5, tzinfo=UTC)
        assert read(self.rows("03/04/2026", "03/04/2026"), not_after=now).trace.started_at.date() == date(2026, 3, 4)

    def test_the_user_can_say(self) -> None:
        rows = self.rows("03/04/2026", "03/04/2026")
        assert read(rows, date_order="mdy").trace.started_at.date() == date(2026, 3, 4)

    def test_one_day_in_both_orders_needs_no_answer(self) -> None:
        assert read(self.rows("04/04/2026", "04/04/2026")).trace.started_at.date() == date(2026, 4, 4)


def test_another_day_than_expected_is_noted() -> None:
    found = read(write(Written(), seconds(START, 4), PARIS, [MILK, AIR]), expected_day=date(2026, 3, 15))
    assert "The recording is of 2026-03-14, and 2026-03-15 was expected." in found.notes


@pytest.mark.parametrize("how", [Written(delimiter=";", decimal_mark=","), Written()])
def test_rows_with_a_delimiter_at_the_end(how: Written) -> None:
    data = write(how, seconds(START, 4), PARIS, [MILK, AIR]).decode()
    lines = data.rstrip("\n").split("\n")
    ended = "\n".join(lines[:3] + [line + how.delimiter for line in lines[3:]]) + "\n"
    assert is_whole(read(ended))


def test_spaces_blank_lines_and_a_missing_last_line_end_do_no_harm() -> None:
    data = write(replace(Written(), final_line_end=False), seconds(START, 4), PARIS, [MILK, AIR]).decode()
    assert is_whole(read(data))
    assert is_whole(read(data.replace(",", "  ,  ")))
    assert is_whole(read(data.replace("\n2026-03-14 09:30:02", "\n\n \n2026-03-14 09:30:02") + "\n\n"))
    assert is_whole(read(data + "\n\x1a"))


def test_a_quoted_field_may_hold_the_delimiter_and_quotation_marks() -> None:
    """RFC 4180, section 2, rules 6 and 7."""
    found = read('Time,Milk (°C),Remark\n2026-03-14 09:30:00,63,"lid, ""open"""\n2026-03-14 09:30:01,"63.5",\n')
    assert found.trace.channels["Milk"].tolist() == [63, 63.5]


def test_a_gap_is_kept_and_noted() -> None:
    found = read("Time,Milk (°C)\n" + "".join(f"2026-03-14 09:30:{s:02d},63\n" for s in (0, 1, 2, 30, 31, 33)))
    assert found.trace.t_s.tolist() == [0, 1, 2, 30, 31, 33]
    assert "2 gaps in the recording, kept as gaps: the first before line 5, the longest 28 s." in found.notes


def _file(head: str, cells: list[str]) -> bytes:
    return "\n".join([head, *(f"{cell},{63 + i / 10:.1f}" for i, cell in enumerate(cells))]).encode()


def test_time_elapsed_as_hours_counts_from_the_start_in_the_header() -> None:
    """It once passed for the time of day, and a make at seven was one at midnight."""
    head = "Start time,2026-03-10 07:00:00\nElapsed,Milk (°C)"
    found = read_recorder_file(_file(head, ["0:00:00", "0:00:10", "25:00:00"]), filename="x.csv", time_zone="UTC")
    assert found.trace.started_at == datetime(2026, 3, 10, 7, tzinfo=UTC)
    assert found.trace.t_s.tolist() == [0.0, 10.0, 90_000.0]


def test_times_of_day_that_begin_hours_from_the_header_s_start_are_refused() -> None:
    head = "Start time,2026-03-10 07:00:00\nTime,Milk (°C)"
    with pytest.raises(InputError, match="name their column Elapsed"):
        read_recorder_file(_file(head, ["0:00:00", "0:00:10"]), filename="x.csv", time_zone="UTC")
    near = read_recorder_file(_file(head, ["7:00:05", "7:00:15"]), filename="x.csv", time_zone="UTC")
    assert near.trace.started_at == datetime(2026, 3, 10, 7, 0, 5, tzinfo=UTC)


def test_a_spreadsheet_s_own_numbers_for_dates_are_read() -> None:
    """46091.291667 is 10 March 2026, 7:00, in the date system from 1900: worked out by a spreadsheet's own rule."""
    cells = ["46091.291667", "46091.291782", "46091.291898"]
    found = read_recorder_file(_file("Time,Milk (°C)", cells), filename="x.csv", time_zone="UTC")
    assert found.trace.started_at == datetime(2026, 3, 10, 7, tzinfo=UTC)
    assert found.trace.t_s.tolist() == [0.0, 10.0, 20.0]
    assert any("spreadsheet" in note for note in found.notes)


@pytest.mark.parametrize("cells", [["1000000000", "1000000010"], ["1000000000000", "1000000010000"]])
def test_seconds_since_1970_are_read(cells: list[str]) -> None:
    """10⁹ s since the epoch of POSIX is 9 September 2001, 01:46:40 UTC: Python's datetime says the same."""
    found = read_recorder_file(_file("Timestamp,Milk (°C)", cells), filename="x.csv", time_zone="Europe/Dublin")
    assert found.trace.started_at == datetime.fromtimestamp(1e9, UTC) == datetime(2001, 9, 9, 1, 46, 40, tzinfo=UTC)
    assert found.trace.t_s.tolist() == [0.0, 10.0]
    assert any("1970" in note for note in found.notes)


def test_a_file_with_the_newest_reading_first_is_read_from_its_end() -> None:
    head, stamps = "Time,Milk (°C)", [f"2026-03-10 07:{minute:02}:00" for minute in range(30)]
    lines = [f"{stamp},{40 + i}" for i, stamp in enumerate(stamps)]
    forth, back = (
        read_recorder_file("\n".join([head, *rows]).encode(), filename="x.csv", time_zone="Europe/Dublin")
        for rows in (lines, lines[::-1])
    )
    assert back.trace.started_at == forth.trace.started_at
    assert back.trace.t_s.tolist() == forth.trace.t_s.tolist()
    assert all((back.trace.channels[name] == values).all() for name, values in forth.trace.channels.items())
    assert "newest reading stands first" in back.notes[0]
    # Through the hour that happens twice: Dublin, 25 October 2026 (IANA)
    twice = ["00:40", "01:10", "01:40", "01:10", "01:40", "02:10"]
    night = [f"2026-10-25 {clock}:00,{i}" for i, clock in enumerate(twice)]
    turned = read_recorder_file("\n".join([head, *night[::-1]]).encode(), filename="x.csv", time_zone="Europe/Dublin")
    assert np.diff(turned.trace.t_s).tolist() == [1800.0] * 5


@pytest.mark.parametrize("day", ["10 Mar 2026", "10-Mar-2026", "10. März 2026", "10 mars 2026", "10/MARZO/2026"])
def test_months_that_stand_as_words_are_read(day: str) -> None:
    cells = [f"{day} 07:00:00", f"{day} 07:00:10"]
    found = read_recorder_file(_file("Date,Milk (°C)", cells), filename="x.csv", time_zone="UTC")
    assert found.trace.started_at == datetime(2026, 3, 10, 7, tzinfo=UTC)
