"""Tables as CSV and as a spreadsheet. What somebody typed is never read as a formula by the program that opens it."""

import csv
import io
import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import IO, Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

from haccp.premises.models import Premises
from haccp.reports.draw.document import CAUTION
from haccp.reports.exports.table import Days, Table, Value

# Spreadsheets take text that begins so for a formula, or may after cutting off what stands before it (OWASP, "CSV
# Injection").
_FORMULA = re.compile(r"^[\s\ufeff]*[=+\-@\t\r|%]")
_NUMBER = re.compile(r"^[+-]?\d+([.,]\d+)?$")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
BOM = "\ufeff"


def harmless(text: str) -> str:
    """With an apostrophe before what would be read as a formula; a number with its sign stays a number."""
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.match(text) else text


def csv_lines(table: Table, premises: Premises, days: Days) -> Iterator[str]:
    """RFC 4180, UTF-8 with a mark at its beginning that spreadsheets look for; moments as ISO 8601 in local time."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([harmless(column.head) for column in table.columns])
    yield BOM + buffer.getvalue()
    for row in table.rows(premises, days):
        buffer.seek(0)
        buffer.truncate()
        writer.writerow([_plain(value, premises) for value in row])
        yield buffer.getvalue()


def write_xlsx(target: IO[bytes], table: Table, premises: Premises, days: Days, *, by: str, made_at: datetime) -> None:
    """One sheet of rows, one that says what they are; written row by row, so that its size does not matter."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(table.title[:31])
    sheet.freeze_panes = "A2"
    sheet.append([_bold(sheet, column.head) for column in table.columns])
    for row in table.rows(premises, days):
        sheet.append([_cell(sheet, value, premises) for value in row])
    about = book.create_sheet("About")
    for line in _about(table, premises, days, by, made_at):
        about.append([_cell(about, value, premises) for value in line])
    book.save(target)


def _about(table: Table, premises: Premises, days: Days, by: str, made_at: datetime) -> Iterable[tuple[Value, ...]]:
    yield "Table", table.title
    yield "Dairy", premises.name
    yield "From", days.first
    yield "To, this day included", days.last
    yield "Times are those of", premises.time_zone
    yield "Made", made_at
    yield "By", by
    yield "Caution", str(CAUTION)
    yield ()
    yield "Column", "Unit", "Source"
    for column in table.columns:
        yield column.title, column.unit, column.source


def _plain(value: Value, premises: Premises) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.astimezone(premises.zone).isoformat(timespec="seconds")
    return harmless(value) if isinstance(value, str) else str(value)


def _cell(sheet: Any, value: Value, premises: Premises) -> Any:
    if isinstance(value, datetime):
        cell = WriteOnlyCell(sheet, value.astimezone(premises.zone).replace(tzinfo=None))
        cell.number_format = "yyyy-mm-dd hh:mm:ss"
        return cell
    if not isinstance(value, str):
        return value
    cell = WriteOnlyCell(sheet, _CONTROLS.sub(" ", value)[:32_767])
    cell.data_type = "s"  # never "f", whatever it begins with
    return cell


def _bold(sheet: Any, text: str) -> Any:
    cell = WriteOnlyCell(sheet, text)
    cell.font = Font(bold=True)
    return cell
