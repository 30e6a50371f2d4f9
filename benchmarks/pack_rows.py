"""Rows of a visit pack's record tables, against the same rows in bare ReportLab platypus tables.

    uv run python benchmarks/pack_rows.py [rows]

Both draw seven wrapped columns with a repeated head on A4. Platypus gets one table of 40 rows at a time, which is its
fast way; one long table is several times slower. Cells repeat as they do in a real pack, which the painter's cache of
wrapped lines makes use of. Prints pages per second of CPU, and their ratio.
"""

import io
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from reportlab.lib.colors import HexColor
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate, Paragraph, SimpleDocTemplate, Table, TableStyle

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from haccp.drawing.typeface import BOLD, REGULAR
from haccp.reports.draw.ink import SMALL
from haccp.reports.draw.paper import A4
from haccp.reports.draw.rows import Column, Line, Row, RowTable

SHARES = (0.95, 1.2, 2.4, 2.75, 3.35, 1.55, 1.9)
TITLES = ("Entry", "Observed", "Of, check", "Reading", "Limit", "Ruling", "With, by")
ROWS_OF_A_TABLE = 40


def cells(n: int) -> tuple[str, ...]:
    return (
        f"#{n}",
        f"{1 + n % 28} Nov 26 {n % 24:02}:{n % 60:02}",
        f"AS26{n % 1000:04} Room 1 temperature",
        f"Top shelf: {10 + n % 40 / 10:.1f} °C",
        "Air between 8 and 14 °C on every shelf of the room",
        "✓ met",
        "Probe thermometer 2 Milo Maker",
    )


def painted(count: int) -> int:
    document = BaseDocTemplate(io.BytesIO(), pagesize=(A4.width, A4.height), invariant=1)
    frame = Frame(A4.left, A4.bottom, A4.text_width, A4.text_height, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    columns = [Column(title, share) for title, share in zip(TITLES, SHARES, strict=True)]
    rows: Iterator[Row] = (Row((Line(cells(n)),)) for n in range(count))
    document.build([RowTable(columns, rows, A4.text_height)])
    return int(document.page)


def bare_platypus(count: int) -> int:
    document = SimpleDocTemplate(
        io.BytesIO(),
        pagesize=(A4.width, A4.height),
        invariant=1,
        leftMargin=A4.left,
        rightMargin=A4.right,
        topMargin=A4.top,
        bottomMargin=A4.bottom,
    )
    widths = [share * (A4.text_width - 12) / sum(SHARES) for share in SHARES]
    style = TableStyle(
        [
            ("FONT", (0, 0), (-1, 0), BOLD, 8),
            ("FONT", (0, 1), (-1, -1), REGULAR, 8),
            ("LINEBELOW", (0, 0), (-1, -1), 0.5, HexColor("#cfc8bb")),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ]
    )
    story = []
    for first in range(0, count, ROWS_OF_A_TABLE):
        numbers = range(first, min(first + ROWS_OF_A_TABLE, count))
        rows = [[Paragraph(text, SMALL) for text in cells(n)] for n in numbers]
        story.append(Table([list(TITLES), *rows], widths, style=style, repeatRows=1))
    document.build(story)
    return int(document.page)


def pages_per_second(draw: Callable[[int], int], count: int) -> float:
    best = 0.0
    for _ in range(3):
        started = time.process_time()
        pages = draw(count)
        best = max(best, pages / (time.process_time() - started))
    return best


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    ours, theirs = pages_per_second(painted, count), pages_per_second(bare_platypus, count)
    sys.stdout.write(f"{count} rows: rows painted {ours:.0f} pages/s, platypus tables {theirs:.0f} pages/s\n")
    sys.stdout.write(f"per row: {ours / theirs * bare_platypus(count) / painted(count):.1f} times as fast\n")


if __name__ == "__main__":
    main()
