"""The key data elements as a spreadsheet that can be sorted: a heading, a filter, real numbers and real days."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from batches.recall.export.key_data import Cell, Sheet

# What a spreadsheet takes for a formula, or for the start of a command: kept as text, whatever people typed.
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
WIDEST = 48
# Characters that XML 1.0 has no place for; openpyxl refuses them.
_CONTROLS = {code: None for code in range(32) if code not in (9, 10, 13)}


def spreadsheet(sheets: Sequence[Sheet]) -> bytes:
    """One worksheet for each kind of record; the clause stands in its properties' title row."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for sheet in sheets:
        _write(book.create_sheet(sheet.title), sheet)
    made = BytesIO()
    book.save(made)
    return made.getvalue()


def _write(page: Worksheet, sheet: Sheet) -> None:
    for column, title in enumerate(sheet.columns, start=1):
        cell: Any = page.cell(1, column)
        _put(cell, f"{title} [{sheet.clause}]")
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    for number, row in enumerate(sheet.rows, start=2):
        for column, value in enumerate(row, start=1):
            _put(page.cell(number, column), value)
    page.freeze_panes = "A2"
    last = get_column_letter(len(sheet.columns))
    page.auto_filter.ref = f"A1:{last}{len(sheet.rows) + 1}"
    for column in range(1, len(sheet.columns) + 1):
        longest = max((len(str(row[column - 1])) for row in sheet.rows), default=0)
        page.column_dimensions[get_column_letter(column)].width = min(WIDEST, max(18, longest + 2))


def _put(cell: Any, value: Cell) -> None:
    if not isinstance(value, str):
        cell.value = value
        return
    cell.value = value.translate(_CONTROLS)
    if value.startswith(DANGEROUS):
        cell.data_type = "s"  # openpyxl would make a formula of what begins with “=”
        cell.quotePrefix = True  # and a program that opens it must not either
