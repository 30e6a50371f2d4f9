"""Rows split all at once are those that the csv module splits (RFC 4180)."""

import csv
import io

from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.science.recorder.rows import read_rows

cell = st.text(alphabet="ab1.,;\"' é", max_size=6)


@st.composite
def tables(draw: st.DrawFn) -> list[list[str]]:
    width = draw(st.integers(2, 5))
    row = st.lists(cell, min_size=width, max_size=width).filter(lambda fields: any(field.strip() for field in fields))
    return draw(st.lists(row, min_size=1, max_size=8))


@settings(deadline=None, max_examples=300)
@given(tables(), st.sampled_from([",", ";", "\t"]), st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
def test_rows_are_split_as_the_csv_module_splits_them(rows: list[list[str]], delimiter: str, quoting: int) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator="\n").writerows(rows)  # type: ignore[arg-type]
    table = read_rows(out.getvalue().encode(), first_line=7, delimiter=delimiter, count=len(rows[0]))
    assert table.lines.tolist() == list(range(7, 7 + len(rows)))
    for column in range(len(rows[0])):
        cells = table.cells(column)
        assert [cells.text(row) for row in range(len(rows))] == [row[column].strip() for row in rows]
