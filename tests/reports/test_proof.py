"""A pack can be proven: the same input gives the same bytes, and what is attached verifies without this service."""

import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from uuid import UUID

from django.core.files.storage import default_storage

from haccp.ledger.models import Entry
from haccp.ledger.standalone import verify_records
from haccp.ledger.verification import verify_log
from haccp.reports.gather.gathered import gather
from haccp.reports.gather.period import period_of
from haccp.reports.layout import pack as layout
from haccp.reports.models import VisitPack
from tests.dairy import Dairy
from tests.reports import history, reading
from tests.reports.conftest import ASKED_AT, MakePack

PACK_ID = UUID("6f4d1c1e-9c1b-4c53-8e26-6f8e2c2f7f10")


def drawn(pack: VisitPack, path: Path, *, later: timedelta = timedelta()) -> bytes:
    at = ASKED_AT + later
    layout.draw(gather(period_of(pack), made_at=at), path, made_at=at, report=lambda stage, done, total: None)
    return path.read_bytes()


def test_the_same_input_gives_the_same_bytes(dairy: Dairy, make_pack: MakePack, tmp_path: Path) -> None:
    history.eventful_week(dairy, days=3)
    pack = make_pack(dairy.owner, pack_id=PACK_ID)
    assert drawn(pack, tmp_path / "a.pdf") == drawn(pack, tmp_path / "b.pdf")


def test_the_clock_changes_one_line(dairy: Dairy, make_pack: MakePack, tmp_path: Path) -> None:
    history.eventful_week(dairy, days=3)
    pack = make_pack(dairy.owner, pack_id=PACK_ID)
    texts = []
    for name, later in (("a.pdf", timedelta()), ("b.pdf", timedelta(minutes=7))):
        drawn(pack, tmp_path / name, later=later)
        from pypdf import PdfReader

        texts.append([line for page in PdfReader(tmp_path / name).pages for line in page.extract_text().splitlines()])
    changed = [(one, other) for one, other in zip(*texts, strict=True) if one != other]
    assert changed == [("11 Mar 2026, 09:00 (Europe/Dublin)", "11 Mar 2026, 09:07 (Europe/Dublin)")]


def test_the_attachment_is_verified_by_the_program_that_stands_alone(
    dairy: Dairy, make_pack: MakePack, tmp_path: Path
) -> None:
    history.eventful_week(dairy, days=3)
    pack = make_pack(dairy.owner)
    ((name, (content, *_)),) = reading.reader(pack).attachments.items()
    assert name == "records.json"
    document = tmp_path / name
    document.write_bytes(content)
    first_page = reading.pages(pack)[0]
    fingerprint = next(word for word in first_page.split() if word.count("-") == 3 and "/" in word)

    def verify(path: Path) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-I", verify_records.__file__, str(path), "--fingerprint", fingerprint]
        return subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)

    held = verify(document)
    assert held.returncode == 0, held.stdout + held.stderr
    assert f"{pack.contents['ledger entries']} records" in held.stdout
    shown = {f'"index":{number},' for number in reading.rows(pack)}
    assert all(index.encode() in content for index in shown)

    forged = tmp_path / "forged.json"
    forged.write_bytes(content.replace(b"11.0", b"10.0", 1))
    assert verify(forged).returncode == 1


def test_the_ledger_holds_the_sum_and_the_contents(dairy: Dairy, make_pack: MakePack) -> None:
    history.room_round(dairy, history.FIRST_DAY)
    pack = make_pack(dairy.owner)
    entry = Entry.objects.get(kind="pack.made")
    assert entry.subject == f"pack:{pack.id}"
    assert pack.sha256 in entry.body
    assert verify_log(dairy.owner.premises.log).problem == ""

    VisitPack.objects.filter(pk=pack.pk).update(sha256="0" * 64)
    assert pack.id.hex[:8] in verify_log(dairy.owner.premises.log).problem


def test_the_file_is_what_the_sum_says(dairy: Dairy, make_pack: MakePack) -> None:
    import hashlib

    pack = make_pack(dairy.owner)
    assert pack.file.name is not None
    with default_storage.open(pack.file.name) as content:
        stored = content.read()
    assert hashlib.sha256(stored).hexdigest() == pack.sha256
    assert len(stored) == pack.size_bytes
