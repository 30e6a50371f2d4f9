"""The record of a batch with none, one and a thousand records, read back by poppler's pdftotext."""

import shutil
import subprocess
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest

from batches.making.models import Make
from haccp.checks.models import Reading, Record, RulingRow
from haccp.reports import papers
from tests.dairy import Dairy
from tests.reports import history

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs poppler-utils")

LATER = history.FIRST_DAY + timedelta(days=30)
MANY = 1_000


def text_of(dairy: Dairy, make: Make, folder: Path) -> str:
    """The batch's paper in the order of its ink, pages parted by form feeds."""
    scope = dairy.owner
    paper = papers.batch_paper(scope.premises, make.lot_id, "", scope.premises.local_date(LATER))
    with papers.made(paper, scope=scope, site="", now=LATER) as made:
        path = folder / "batch.pdf"
        path.write_bytes(made.read())
    done = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True)
    return done.stdout


def test_a_batch_has_its_paper_without_a_record_and_with_one(dairy: Dairy, tmp_path: Path) -> None:
    at = history.FIRST_DAY + timedelta(hours=7)
    make = dairy.start_make(at=at)
    text = text_of(dairy, make, tmp_path)
    assert "Record of a batch" in text
    assert make.lot.code in text
    assert "Records of critical control points" not in text

    dairy.save("pH of the curd", "5.61", at=at, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    text = text_of(dairy, make, tmp_path)
    assert text.count("pH 5.61") == 1
    assert "Records of critical control points" in text


def test_a_thousand_records_of_a_batch_stand_once_each_and_whole(dairy: Dairy, tmp_path: Path) -> None:
    at = history.FIRST_DAY + timedelta(hours=8)
    make = dairy.start_make(at=at)
    one = dairy.save("pH of the curd", "5.61", at=at, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id).record
    readings, rulings = list(one.readings.all()), list(one.rulings.all())
    copies, more_readings, more_rulings = [], [], []
    for number in range(MANY - 1):
        copy = Record.objects.model(**_fields(one))
        copy.pk, copy.due, copy.note = uuid4(), None, f"copy-{number}-end"
        copy.observed_at = one.observed_at + timedelta(seconds=number)
        copies.append(copy)
        more_readings += [Reading(**_fields(row) | {"id": uuid4(), "record_id": copy.pk}) for row in readings]
        more_rulings += [RulingRow(**_fields(row) | {"id": uuid4(), "record_id": copy.pk}) for row in rulings]
    Record.objects.bulk_create(copies, batch_size=500)
    Reading.objects.bulk_create(more_readings, batch_size=500)
    RulingRow.objects.bulk_create(more_rulings, batch_size=500)

    text = text_of(dairy, make, tmp_path)
    assert text.count("pH 5.61") == MANY
    for number in range(MANY - 1):
        assert f"copy-{number}-end" in text
    pages = [page for page in text.split("\f") if "-end" in page]
    assert len(pages) > 10
    assert all("Ruling" in page and "page " in page for page in pages)


def _fields(row: Record | Reading | RulingRow) -> dict[str, object]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
