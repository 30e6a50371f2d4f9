"""Every sentence that reading a recorder's file can answer with: errors to act on, and notes on what was done."""

from datetime import date, datetime

from haccp.science.errors import InputError

Names = list[str]


def _quoted(text: str) -> str:
    return f"“{text if len(text) <= 40 else text[:39] + '…'}”"


def _count(number: int, thing: str) -> str:
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"


_FIXED_ZONE = "The recorder's clock did not change that night; choose the fixed time zone it keeps, such as Etc/GMT-1."


# The file as a whole


def too_large(filename: str, size: int, max_bytes: int) -> InputError:
    return InputError(
        f"{filename} is {size / 2**20:,.1f} MiB, and at most {max_bytes / 2**20:,.1f} MiB are read.",
        remedy="Export only the hours of this heat treatment, and give that file.",
    )


def empty(filename: str) -> InputError:
    return InputError(
        f"{filename} is empty.", remedy="Export the readings from the recorder again, and look at the file's size."
    )


def not_text(filename: str, looks_like: str) -> InputError:
    return InputError(
        f"{filename} is not a text file: it seems to be {looks_like}.",
        remedy="Export the readings as CSV (text) from the recorder's or spreadsheet program, and give that file.",
    )


def line_too_long(line: int, length: int, limit: int) -> InputError:
    return InputError(
        f"The line has {length:,} characters, and a row of readings has {limit:,} at most.",
        remedy="Export the file again with one row for each sample time.",
        line=line,
    )


def no_heads(line: int) -> InputError:
    return InputError(
        "Readings start here without a line of column heads above them.",
        remedy="Export with column heads, or write one line of heads (such as Time, Milk (°C)) above this line.",
        line=line,
    )


def ends_in_header(line: int) -> InputError:
    return InputError(
        "The file ends here, before any line of column heads with readings under it.",
        remedy="Copy the whole file from the recorder again; if it is whole, add a line of column heads.",
        line=line,
    )


def header_too_long(limit: int) -> InputError:
    return InputError(
        f"No line of column heads was found in the first {limit:,} lines.",
        remedy="Export with column heads, such as Time, Milk (°C), directly above the readings.",
        line=limit,
    )


def no_time_column(line: int, heads: Names) -> InputError:
    return InputError(
        f"None of the columns {', '.join(map(_quoted, heads))} holds times.",
        remedy="Export with a column of date and time, or of seconds elapsed with the start time in the header.",
        line=line,
    )


def no_temperature_column(line: int, heads: Names) -> InputError:
    return InputError(
        f"None of the columns {', '.join(map(_quoted, heads))} is a temperature.",
        remedy="Name the unit in the column's head, such as Milk (°C).",
        line=line,
    )


def too_few_samples(line: int, count: int) -> InputError:
    return InputError(
        f"The column heads are followed by {_count(count, 'reading')}, and a trace needs at least 2.",
        remedy="Export the whole recording, from before the heating to after the hold.",
        line=line,
    )


def no_readings(filename: str) -> InputError:
    return InputError(
        f"Every temperature in {filename} is missing.",
        remedy="Check that the probes were plugged in, and export the recording of this batch.",
    )


# A row


def too_few_fields(line: int, found: int, wanted: int) -> InputError:
    return InputError(
        f"The row has {_count(found, 'field')} where the column heads have {wanted}.",
        remedy="Put the missing fields back (an empty field for a reading that is missing), or remove the line.",
        line=line,
    )


def too_many_fields(line: int, found: int, wanted: int) -> InputError:
    return InputError(
        f"The row has {_count(found, 'field')} where the column heads have {wanted}.",
        remedy="Remove the extra fields, or give them a column head.",
        line=line,
    )


def unquoted_decimal_commas(line: int, found: int, wanted: int) -> InputError:
    return InputError(
        f"The row has {found} fields where the column heads have {wanted}: the comma seems to be both the decimal "
        "mark and the mark between fields.",
        remedy="Export with semicolons between fields, or with a decimal point.",
        line=line,
    )


def quote_not_closed(line: int) -> InputError:
    return InputError(
        "A quotation mark is opened here and not closed properly.",
        remedy="Close or remove the quotation mark.",
        line=line,
    )


def not_a_number(line: int, channel: str, text: str) -> InputError:
    return InputError(
        f"{channel} reads {_quoted(text)}, which is neither a number nor a mark for a missing reading.",
        remedy="Write the number, or leave the cell empty where the recorder has no reading.",
        line=line,
    )


def mixed_decimal_marks(line: int, channel: str, text: str, usual: str) -> InputError:
    other = "point" if usual == "," else "comma"
    return InputError(
        f"{channel} reads {_quoted(text)} with a decimal {other}, and other lines have the other mark.",
        remedy="Export the file again with one decimal mark throughout, and no mark between thousands.",
        line=line,
    )


# Times


def unknown_zone(name: str) -> InputError:
    return InputError(
        f"There is no time zone named {_quoted(name)}.", remedy="Choose one such as Europe/Paris or Etc/GMT-1."
    )


def unreadable_time(line: int, head: str, text: str) -> InputError:
    return InputError(
        f"{head} reads {_quoted(text)}, which is not a time in the layout of the lines before it, or in any known.",
        remedy="Write times such as 2026-03-14 09:30:00, 14/03/2026 09:30:00 or 14.03.2026 09:30:00.",
        line=line,
    )


def unreadable_elapsed(line: int, head: str, text: str) -> InputError:
    return InputError(
        f"{head} reads {_quoted(text)}, which is not a number of seconds from the start.",
        remedy="Correct the number, or remove the line.",
        line=line,
    )


def impossible_time(line: int, text: str) -> InputError:
    return InputError(
        f"{_quoted(text)} is not a date and time of the calendar and clock (years 1980 to 2100).",
        remedy="Correct the time in this line, or set the recorder's clock and export again.",
        line=line,
    )


def mixed_offsets(line: int) -> InputError:
    return InputError(
        "Some times state their offset from UTC, and others do not.",
        remedy="Export again with the offset on every line or on none.",
        line=line,
    )


def ambiguous_date(line: int, text: str) -> InputError:
    return InputError(
        f"{_quoted(text)} can be day/month or month/day, and nothing in the file tells which.",
        remedy="Say which comes first, the day or the month, or give the day of the make.",
        line=line,
    )


def no_date(line: int) -> InputError:
    return InputError(
        "The readings have a time of day and no date, and the header gives no date.",
        remedy="Add a header line such as Date, 2026-03-14 above the column heads, or export with the date.",
        line=line,
    )


def no_start(line: int) -> InputError:
    return InputError(
        "The readings count time from the start, and the header gives no start time.",
        remedy="Add a header line such as Start, 2026-03-14 09:30:00 above the column heads.",
        line=line,
    )


def not_increasing(line: int, before: datetime, at: datetime) -> InputError:
    return InputError(
        f"The time goes back from {before:%Y-%m-%d %H:%M:%S} to {at:%H:%M:%S} here, the first line out of order.",
        remedy="Export the readings again in order of time, oldest first; do not sort or join files by hand.",
        line=line,
    )


def set_back(line: int, before: datetime, at: datetime, zone: str) -> InputError:
    return InputError(
        f"The clock is set back from {before:%Y-%m-%d %H:%M:%S} to {at:%H:%M:%S}, which is not a change of the "
        f"hour in {zone}.",
        remedy="Choose the time zone that the recorder keeps, or export again with times in UTC.",
        line=line,
    )


def conflicting_rows(line: int, earlier: int) -> InputError:
    return InputError(
        f"The time is that of line {earlier}, and the readings differ.",
        remedy=f"Export with seconds, or remove whichever of lines {earlier} and {line} is wrong.",
        line=line,
    )


def in_the_future(line: int, at: datetime, limit: datetime) -> InputError:
    return InputError(
        f"The time {at:%Y-%m-%d %H:%M:%S} UTC is later than now, {limit:%Y-%m-%d %H:%M:%S} UTC.",
        remedy="Check the recorder's clock, its time zone and the order of day and month.",
        line=line,
    )


def hour_does_not_exist(line: int, at: datetime, zone: str) -> InputError:
    return InputError(
        f"{at:%Y-%m-%d %H:%M:%S} does not exist in {zone}: the clock goes forward over it.",
        remedy=_FIXED_ZONE,
        line=line,
    )


def hour_not_repeated(line: int, at: datetime, zone: str) -> InputError:
    return InputError(
        f"The hour from {at:%Y-%m-%d %H:%M:%S} happens twice in {zone}, and the recorder ran through it once "
        "without a break.",
        remedy=_FIXED_ZONE,
        line=line,
    )


def which_pass(line: int, at: datetime, zone: str) -> InputError:
    return InputError(
        f"{at:%Y-%m-%d %H:%M:%S} happened twice in {zone}, and nothing in the file tells which of the two it was.",
        remedy="Say whether it was the first or the second time, or export again with times in UTC.",
        line=line,
    )


# Values


def broken_probe(line: int, channel: str, value: float, unit: str) -> InputError:
    return InputError(
        f"{channel} reads {value:g} {unit}, a recorder's mark for a broken probe or lead.",
        remedy="Check whether the probe was unplugged; leave the cell empty where the recorder marks a break.",
        line=line,
    )


def implausible(line: int, channel: str, value: float, unit: str, low: float, high: float) -> InputError:
    return InputError(
        f"{channel} reads {value:g} {unit}, outside the {low:g} to {high:g} °C that it can have.".replace("-", "−"),
        remedy="Check whether the probe was unplugged; leave the cell empty where the recorder marks a break.",
        line=line,
    )


def looks_like_fahrenheit(line: int, channel: str, labelled: str, low: float, high: float) -> InputError:
    return InputError(
        f"The column {channel} {f'is labelled {labelled}' if labelled else 'has no unit'} and runs from {low:g} to "
        f"{high:g}: it looks like °F.",
        remedy="Correct the label in the column's head, or choose °F for this column.",
        line=line,
    )


def unknown_channel(name: str, channels: Names) -> InputError:
    return InputError(
        f"There is no temperature column named {_quoted(name)}.", remedy=f"Choose among {', '.join(channels)}."
    )


def unknown_unit(unit: str) -> InputError:
    return InputError(f"{_quoted(unit)} is not a unit that temperatures are read in.", remedy="Choose °C or °F.")


# Notes


def note_cut_line(line: int) -> str:
    return f"Line {line} is cut off at the end of the file and was left out; all lines before it are whole."


def note_missing(channel: str, count: int, line: int) -> str:
    return f"{channel}: {_count(count, 'reading')} missing, the first on line {line}."


def note_left_out(column: str, why: str) -> str:
    return f"The column {_quoted(column)} was left out: {why}."


def note_duplicates(count: int, line: int) -> str:
    verb = "was" if count == 1 else "were"
    return f"{_count(count, 'row')} repeated the row before and {verb} dropped, the first on line {line}."


def note_gaps(count: int, line: int, longest_s: float) -> str:
    return (
        f"{_count(count, 'gap')} in the recording, kept as {'a gap' if count == 1 else 'gaps'}: the first before "
        f"line {line}, the longest {longest_s:,.0f} s."
    )


def note_converted(channel: str) -> str:
    return f"{channel} was converted from °F to °C."


def note_assumed_celsius(channel: str) -> str:
    return f"{channel} has no unit in its head and was read as °C."


def note_header_unit(channel: str, unit: str) -> str:
    return f"{channel} was read in {unit}, as the header says."


def note_unit_chosen(channel: str, unit: str, labelled: str) -> str:
    return f"{channel} was read as {unit}, as chosen, though it is labelled {_quoted(labelled)}."


def note_date_order(order: str, why: str) -> str:
    first, second = ("day", "month") if order == "dmy" else ("month", "day")
    return f"Dates were read as {first}/{second}: {why}."


def note_zone(zone: str) -> str:
    return f"Times were read as local time in {zone}."


def note_offset() -> str:
    return "Times state their offset from UTC, and were read by it."


def note_spreadsheet_dates() -> str:
    return "Times were read as a spreadsheet’s own numbers for dates, days since 30 December 1899."


def note_epoch() -> str:
    return "Times were read as seconds since the beginning of 1970, UTC."


def note_newest_first() -> str:
    return "The newest reading stands first in the file; it was read from its end."


def other_start(line: int, first: str, written: str) -> InputError:
    return InputError(
        f"The first reading is of {_quoted(first)}, and the header says that it began at {_quoted(written)}.",
        remedy="If the times count from the start, name their column Elapsed; else correct the header.",
        line=line,
    )


def note_header_date(text: str) -> str:
    return f"The date was taken from the header, {_quoted(text)}."


def note_hour_repeated(zone: str, line: int) -> str:
    return (
        f"The clock goes back in {zone} during this recording: the hour that happens twice was told apart by the "
        f"order of the lines, and the second pass starts on line {line}."
    )


def note_single_pass(zone: str, which: str, why: str) -> str:
    return f"Times that happen twice in {zone} were read as the {which} pass: {why}."


def note_hour_skipped(zone: str, line: int) -> str:
    return f"The clock goes forward in {zone} during this recording, before line {line}; no time is missing there."


def note_other_day(first: date, last: date, expected: date) -> str:
    span = f"{first:%Y-%m-%d}" if first == last else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
    return f"The recording is of {span}, and {expected:%Y-%m-%d} was expected."
