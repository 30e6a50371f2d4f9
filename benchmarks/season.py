"""A season's visit pack, against bare platypus tables and LibreOffice with the same rows, in one run.

    uv run python benchmarks/season.py [--batches 300] [--records 40000] [--samples 2700]

A dairy of its own in a temporary folder: one day lived through the actions that people use, then its rows repeated in
bulk over a season, each sealed in the ledger. Each measurement is a process of its own, so that its peak memory is its
own. Printed:

  pack           pages of the whole pack, seconds of CPU for gathering and drawing, peak memory, size of the file
  record tables  the pack's own tables of records alone, rows read from the database beforehand
  platypus       the same rows as bare ReportLab tables of paragraphs, 40 rows to a table, which is its fast way
  LibreOffice    the same rows from a spreadsheet to PDF (skipped where `soffice` is not installed)
  a tenth        the same for a tenth of the season; ten times the pages are to cost ten times the time or less

Rows beside pages: a page of platypus holds fewer rows, so the rate by rows is the stricter one.
"""

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

ROOT = Path(__file__).resolve().parent.parent
ROWS_OF_A_TABLE = 40
LAST_DAYS = 300
TITLES = ("Entry", "Observed", "Of, check", "Reading", "Limit", "Ruling", "With, by")
SHARES = (0.95, 1.2, 2.4, 2.75, 3.35, 1.55, 1.9)


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def set_up(folder: str) -> None:
    os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "haccp.config.settings", "DEBUG": "0"}
    os.environ.pop("DATABASE_URL", None)
    sys.path.insert(0, str(ROOT))
    import django

    django.setup()


def fill(batches: int, records: int, samples: int) -> None:
    """One day through the actions, then its rows again and again, one batch or two a day."""
    from django.core.management import call_command
    from django.db import transaction

    call_command("migrate", verbosity=0)
    from haccp.checks import actions as checks
    from haccp.checks.models import Record
    from tests.dairy import open_dairy
    from tests.reports import history

    dairy, day = open_dairy(), history.FIRST_DAY
    checks.sweep(now=day + timedelta(hours=5))
    recorded = history.recorder_csv
    history.recorder_csv = lambda start, **more: _every_second(recorded(start, **more), start, samples)  # type: ignore[assignment]
    make = history.make_day(dairy, day)
    history.room_round(dairy, day)
    history.cleaning(dairy, day)
    heats = list(Record.objects.filter(trace__isnull=False))
    others = list(Record.objects.filter(trace__isnull=True).order_by("observed_at"))
    each = (records - batches) // batches
    with transaction.atomic():
        for number in range(1, batches):
            _batch_again(dairy, make.lot, heats[0], others, number, each, day)


def _every_second(csv: bytes, start: Any, samples: int) -> bytes:
    """The recorder's file thinned out or filled in to so many samples."""
    import numpy as np

    head, *lines = csv.decode().splitlines()
    table = np.array([[float(one) for one in line.split(";")[1:]] for line in lines])
    at = np.linspace(0, len(table) - 1, samples)
    rows = np.column_stack([np.interp(at, np.arange(len(table)), table[:, i]) for i in range(2)])
    made = [head]
    for second, (milk, air) in enumerate(rows):
        made.append(f"{start + timedelta(seconds=second):%Y-%m-%d %H:%M:%S};{milk:.2f};{air:.2f}")
    return "\n".join(made).encode()


def _batch_again(dairy: Any, lot: Any, heat: Any, others: list[Any], number: int, each: int, day: Any) -> None:
    """The day's batch, its heat treatment and so many other records, later by some hours for each batch."""
    from batches.making.models import Make
    from haccp.checks.models import Reading, Record, RulingRow, TraceFile
    from haccp.lots.models import Lot, LotEvent

    later = timedelta(days=LAST_DAYS) / 300 * number
    made = Lot(
        premises=lot.premises,
        kind=lot.kind,
        code=f"{lot.code}-{number}",
        product=lot.product,
        revision=lot.revision,
        begun_at=lot.begun_at + later,
        recorded_at=lot.recorded_at + later,
        recorded_by=lot.recorded_by,
    )
    made.save(force_insert=True)
    Make.objects.bulk_create([Make(lot=made, vat=lot.make.vat)])
    events = [_copied(one, later, lot=made) for one in lot.events.all()]
    LotEvent.objects.bulk_create(events)
    trace = _copied(heat.trace, later, lot=made)
    TraceFile.objects.bulk_create([trace])
    records, readings, rulings = [], [], []
    for place in range(each + 1):
        model = others[place % len(others)] if place < each else heat
        of_lot = {"lot": made if model.lot_id else None, "due": None, "trace": trace if place == each else None}
        record = _copied(model, later + timedelta(seconds=place), **of_lot)
        records.append(record)
        readings += [_copied(one, later, record=record) for one in model.readings.all()]
        rulings += [_copied(one, later, record=record) for one in model.rulings.all()]
    Record.objects.bulk_create(records, batch_size=500)
    Reading.objects.bulk_create(readings, batch_size=500)
    RulingRow.objects.bulk_create(rulings, batch_size=500)
    _seal(dairy, made, events, trace, records, readings, rulings)


def _copied(row: Any, later: timedelta, **changed: Any) -> Any:
    """The same row once more, later; every field that is not told to change is kept."""
    from datetime import datetime

    fields = [one for one in row._meta.concrete_fields if not one.primary_key]
    kept = {one.attname: getattr(row, one.attname) for one in fields}
    kept = {name: value + later if isinstance(value, datetime) else value for name, value in kept.items()}
    copy = type(row)(**kept)
    copy.pk = uuid4()
    for name, value in changed.items():
        setattr(copy, name, value)
    return copy


def _seal(
    dairy: Any, lot: Any, events: list[Any], trace: Any, records: list[Any], readings: list[Any], rulings: list[Any]
) -> None:
    from collections import defaultdict

    from batches.making.sealing import make_body
    from haccp.checks.sealing import record_body, trace_body
    from haccp.ledger import actions as ledger
    from haccp.ledger.actions import Sealing
    from haccp.lots.sealing import event_body, lot_body

    readings_of, rulings_of = defaultdict(list), defaultdict(list)
    for one in readings:
        readings_of[one.record_id].append(one)
    for one in rulings:
        rulings_of[one.record_id].append(one)
    sealings = [Sealing("lot.opened", f"lot:{lot.pk}", lot_body(lot))]
    sealings.append(Sealing("make.started", f"make:{lot.pk}", make_body(lot.make)))
    sealings += [Sealing("lot.event", f"lot_event:{one.pk}", event_body(one)) for one in events]
    sealings.append(Sealing("trace.stored", f"trace:{trace.pk}", trace_body(trace)))
    for one in records:
        body = record_body(one, readings_of[one.pk], rulings_of[one.pk])
        sealings.append(Sealing("record.saved", f"record:{one.pk}", body))
    ledger.seal_many(
        log_id=lot.premises.log_id, sealings=sealings, actor=f"{dairy.maker.user.pk} Milo", at=records[-1].recorded_at
    )


def gathered_of_all() -> Any:
    from datetime import datetime, time

    from haccp.checks.models import Record
    from haccp.premises.models import Membership
    from haccp.premises.scope import Scope
    from haccp.reports.gather.gathered import gather
    from haccp.reports.gather.period import period_for

    scope = Scope(Membership.objects.get(role="owner"))
    days = Record.objects.order_by("observed_at").values_list("observed_at", flat=True)
    first, last = days.first().date(), days.last().date()
    now = datetime.combine(last + timedelta(days=1), time(9), scope.premises.zone)
    period = period_for(scope.premises, first, last, asked_by=scope.user, asked_at=now, site="https://dairy.example")
    return gather(period, made_at=now), now


def measure_pack(folder: str) -> dict[str, float]:
    from django.urls import reverse

    from haccp.reports.layout import pack

    reverse("reports:packs")  # a running service has loaded its pages long before
    started = time.process_time()
    gathered, now = gathered_of_all()
    gathered_at = time.process_time()
    path = Path(folder) / "pack.pdf"
    drawn = pack.draw(gathered, path, made_at=now, report=lambda *_: None)
    return {
        "pages": drawn.page_count,
        "records": len(gathered.scope.record_ids),
        "gather_s": gathered_at - started,
        "draw_s": time.process_time() - gathered_at,
        "bytes": path.stat().st_size,
        "attachment_bytes": gathered.evidence.records_size,
    }


def record_rows() -> list[Any]:
    from haccp.reports.dates import LocalTime
    from haccp.reports.draw.paper import A4
    from haccp.reports.gather.record_lines import record_lines
    from haccp.reports.layout.records import record_row
    from haccp.reports.layout.sheet import Sheet

    gathered, _ = gathered_of_all()
    sheet = Sheet(A4, LocalTime(gathered.scope.period.zone), lambda count: None)
    return [
        record_row(line, gathered.deviation_ids, sheet)
        for point in gathered.scope.points
        for line in record_lines(gathered.scope, point, gathered.evidence)
    ]


def measure_tables(folder: str) -> dict[str, float]:
    from haccp.reports.draw.document import DocumentFacts, PackDocument
    from haccp.reports.draw.paper import A4
    from haccp.reports.draw.rows import RowTable
    from haccp.reports.layout.records import COLUMNS

    rows = record_rows()
    started = time.process_time()
    document = PackDocument(str(Path(folder) / "tables.pdf"), A4, DocumentFacts("Records", "B", "B", "Records"))
    drawn = document.draw([RowTable(COLUMNS, iter(rows), A4.text_height)])
    return {"pages": drawn.page_count, "rows": len(rows), "draw_s": time.process_time() - started}


def measure_platypus(folder: str) -> dict[str, float]:
    from html import escape

    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table, TableStyle

    from haccp.drawing.typeface import BOLD
    from haccp.reports.draw.ink import SMALL
    from haccp.reports.draw.paper import A4

    rows = [tuple(escape(cell).replace("\n", "<br/>") for cell in row) for row in rows_of(record_rows())]
    started = time.process_time()
    document = SimpleDocTemplate(
        str(Path(folder) / "platypus.pdf"),
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
            ("LINEBELOW", (0, 0), (-1, -1), 0.5, HexColor("#cfc8bb")),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("TOPPADDING", (0, 0), (-1, -1), 2.6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
        ]
    )
    story = []
    for first in range(0, len(rows), ROWS_OF_A_TABLE):
        cells = [[Paragraph(text, SMALL) for text in row] for row in rows[first : first + ROWS_OF_A_TABLE]]
        story.append(Table([list(TITLES), *cells], widths, style=style, repeatRows=1))
    document.build(story)
    return {"pages": document.page, "rows": len(rows), "draw_s": time.process_time() - started}


def measure_office(folder: str) -> dict[str, float]:
    """Seconds on the clock: the office is a process of its own and uses one core."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment
    from pypdf import PdfReader

    rows = list(rows_of(record_rows()))
    book = Workbook()
    sheet = book.active
    sheet.append(TITLES)
    sheet.print_title_rows = "1:1"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    for letter, share in zip("ABCDEFG", SHARES, strict=True):
        sheet.column_dimensions[letter].width = share * 6.2
    for row in rows:
        sheet.append(row)
    for line in sheet.iter_rows(min_row=2):
        for cell in line:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    path = Path(folder) / "office.xlsx"
    book.save(path)
    started = time.perf_counter()
    subprocess.run(
        [
            shutil.which("soffice") or "soffice",
            "--headless",
            f"-env:UserInstallation=file://{folder}/profile",
            "--convert-to",
            "pdf",
            "--outdir",
            folder,
            str(path),
        ],
        check=True,
        capture_output=True,
    )
    seconds = time.perf_counter() - started
    return {"pages": len(PdfReader(path.with_suffix(".pdf")).pages), "rows": len(rows), "draw_s": seconds}


MEASURES: dict[str, Callable[[str], dict[str, float]]] = {
    "pack": measure_pack,
    "tables": measure_tables,
    "platypus": measure_platypus,
    "office": measure_office,
}


def rows_of(table: Any) -> Iterator[tuple[str, ...]]:
    """Cells of each record's row, asides below the reading, as text."""
    from haccp.reports.draw.rows import Span, Stack, Words

    def plain(cell: Any) -> str:
        return cell.text if isinstance(cell, Words) else cell

    for row in table:
        cells = [""] * len(TITLES)
        for part in row.parts:
            if isinstance(part, Span):
                cells[2] += "\n" + part.words.text
                continue
            lines = (part.beside, *part.lines) if isinstance(part, Stack) else (part,)
            for line in lines:
                for place, cell in enumerate(line.cells):
                    if plain(cell):
                        cells[place] = "\n".join(filter(None, (cells[place], plain(cell))))
        yield tuple(cells)


def in_a_process(what: str, folder: str) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, __file__, "--measure", what, "--folder", folder], check=True, capture_output=True, text=True
    )
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def season(batches: int, records: int, samples: int, against: tuple[str, ...]) -> dict[str, dict[str, float]]:
    with tempfile.TemporaryDirectory() as folder:
        fill_in = [sys.executable, __file__, "--measure", "fill", "--folder", folder]
        fill_in += ["--batches", str(batches), "--records", str(records), "--samples", str(samples)]
        subprocess.run(fill_in, check=True)
        return {what: in_a_process(what, folder) for what in against}


def told(name: str, found: dict[str, float]) -> None:
    pages, seconds = found["pages"], found["draw_s"]
    rate = f"{pages / seconds:7.1f} pages/s"
    rows = f", {found['rows'] / seconds:7.0f} rows/s" if "rows" in found else ""
    say(f"  {name:14} {pages:6.0f} pages in {seconds:6.1f} s: {rate}{rows}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=300)
    parser.add_argument("--records", type=int, default=40_000)
    parser.add_argument("--samples", type=int, default=2_700)
    parser.add_argument("--measure", default="")
    parser.add_argument("--folder", default="")
    asked = parser.parse_args()
    if asked.measure:
        set_up(asked.folder)
        if asked.measure == "fill":
            fill(asked.batches, asked.records, asked.samples)
            return
        found = MEASURES[asked.measure](asked.folder)
        found["peak_mib"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        say(json.dumps(found))
        return
    there = ("pack", "tables", "platypus", *(("office",) if shutil.which("soffice") else ()))
    small = season(asked.batches // 10, asked.records // 10, asked.samples, ("pack",))["pack"]
    full = season(asked.batches, asked.records, asked.samples, there)
    pack = full["pack"]
    say(f"{asked.batches} batches, {pack['records']:.0f} records, as many charts of {asked.samples} samples as batches")
    told("pack, drawn", pack)
    say(f"  gathered in {pack['gather_s']:.1f} s; the file {pack['bytes'] / 1e6:.1f} MB")
    for name in there[1:]:
        told(name, full[name])
    mine, theirs = full["tables"], full["platypus"]
    for name in there[2:]:
        other = full[name]
        by_pages = (pack["pages"] / pack["draw_s"]) / (other["pages"] / other["draw_s"])
        of_tables = (mine["pages"] / mine["draw_s"]) / (other["pages"] / other["draw_s"])
        by_rows = (mine["rows"] / mine["draw_s"]) / (other["rows"] / other["draw_s"])
        say(f"  against {name}: the whole pack {by_pages:.1f}× by pages")
        say(f"  against {name}: its tables of records {of_tables:.1f}× by pages, {by_rows:.1f}× by rows")
    total, tenth = (one["gather_s"] + one["draw_s"] for one in (pack, small))
    more, longer = pack["pages"] / small["pages"], total / tenth
    say(
        f"  a tenth: {small['pages']:.0f} pages in {tenth:.1f} s; {more:.1f} times the pages cost {longer:.1f} times it"
    )
    say(
        f"  peak memory {small['peak_mib']:.0f} -> {pack['peak_mib']:.0f} MiB while the file grew from "
        f"{small['bytes'] / 2**20:.0f} to {pack['bytes'] / 2**20:.0f} MiB and its attachment from "
        f"{small['attachment_bytes'] / 2**20:.0f} to {pack['attachment_bytes'] / 2**20:.0f} MiB"
    )
    assert theirs["rows"] == mine["rows"]


if __name__ == "__main__":
    main()
