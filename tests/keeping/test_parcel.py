"""A premises taken away whole, and brought into another installation with its ledger intact."""

import hashlib
import json
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.db.models import ForeignKey
from django.test import override_settings

from batches.stock.models import Customer, Dispatch, Transfer
from haccp.keeping.backup import KeepingError
from haccp.keeping.parcel import belongings, shape
from haccp.keeping.parcel.bringing_in import import_premises
from haccp.keeping.parcel.writing import write_premises
from haccp.ledger import signing_key, triggers
from haccp.ledger.models import Entry, Log
from haccp.ledger.standalone import verify_records
from haccp.ledger.verification import verify_log
from haccp.premises.models import Membership, Premises, User
from haccp.reports.models import VisitPack
from tests.dairy import PASSWORD
from tests.furnished import LATER, furnished_dairy

Change = Callable[[dict[str, bytes]], None]


def test_every_model_is_taken_along_or_stays_for_a_reason() -> None:
    every = {model._meta.label for model in apps.get_models(include_auto_created=True) if model._meta.managed}
    taken, stays = set(belongings.tables()), set(belongings.STAYS)
    assert not taken & stays
    assert every == taken | stays


def test_what_is_taken_along_names_nothing_that_stays() -> None:
    taken = set(belongings.tables())
    for label in taken:
        for field in belongings.model_of(label)._meta.local_fields:
            if isinstance(field, ForeignKey):
                assert field.related_model._meta.label in taken, f"{label}.{field.name}"


@dataclass
class Away:
    """The premises' names and heads when they were exported, and the archives: the furnished dairy's is the first."""

    files: list[Path]
    heads: dict[str, tuple[int, str]]
    folder: Path


@pytest.fixture(scope="module")
def away(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[Away]:
    """A dairy with one of everything and the one it sends cheese to, exported; then the installation is empty."""
    folder = tmp_path_factory.mktemp("away")
    with furnished_dairy(django_db_blocker, folder / "files") as objects:
        first = Premises.objects.get(memberships__pk=objects.ids["membership"])
        # Put there for pages to show, past the actions that would have sealed them.
        VisitPack.objects.filter(finished_at__isnull=False).delete()
        with triggers.lifted(connection):
            Transfer.objects.all().delete()
            Dispatch.objects.all().delete()
        sister = Premises.objects.exclude(pk=first.pk).get()
        Customer.objects.create(premises=first, name="Our other dairy", phone="1", own_premises=sister)
        ordered = [first, sister]
        files = []
        for number, premises in enumerate(ordered):
            files.append(folder / f"{number}.zip")
            write_premises(premises, files[-1], made_at=LATER)
        heads = {log.key: (log.size, log.frontier.root().hex()) for log in Log.objects.all()}
        connection.check_constraints()
        with triggers.lifted(connection), connection.constraint_checks_disabled(), connection.cursor() as cursor:
            for label in belongings.tables():
                cursor.execute(f'DELETE FROM "{belongings.model_of(label)._meta.db_table}"')
            for label in belongings.STAYS:
                if not label.startswith(("plan.", "auth.", "contenttypes.")):
                    cursor.execute(f'DELETE FROM "{belongings.model_of(label)._meta.db_table}"')
            connection.check_constraints()
        shutil.rmtree(folder / "files")
        yield Away(files, heads, folder)


@pytest.fixture
def elsewhere(away: Away, db: None, tmp_path: Path) -> Iterator[Away]:
    with override_settings(MEDIA_ROOT=tmp_path / "files"), transaction.atomic():
        yield away
        transaction.set_rollback(True)


def rows(path: Path) -> dict[str, list[str]]:
    with zipfile.ZipFile(path) as archive:
        return {n: sorted(archive.read(n).decode().splitlines()) for n in archive.namelist() if n.startswith("rows/")}


def test_what_was_exported_comes_in_verifies_and_leaves_the_same_again(elsewhere: Away, tmp_path: Path) -> None:
    brought = import_premises(elsewhere.files, at=LATER)

    assert {
        one.premises.log.key: (one.premises.log.size, one.premises.log.frontier.root().hex()) for one in brought
    } == (elsewhere.heads)
    for log in Log.objects.all():
        report = verify_log(log)
        assert report.holds, report.problem
    assert not triggers.missing(connection)
    for one, path in zip(brought, elsewhere.files, strict=True):
        write_premises(one.premises, tmp_path / path.name, made_at=LATER)
        before, after = rows(path), rows(tmp_path / path.name)
        assert before.keys() == after.keys()
        for name in before:
            if name not in (
                "rows/notices.delivery.jsonl",
                "rows/notices.pushdevice.jsonl",
                "rows/access.invitation.jsonl",
            ):
                assert before[name] == after[name], name
        assert {n for n in zipfile.ZipFile(path).namelist() if n.startswith(("attachments/", "papers/"))} == {
            n for n in zipfile.ZipFile(tmp_path / path.name).namelist() if n.startswith(("attachments/", "papers/"))
        }


def test_every_table_that_a_dairy_fills_is_in_the_archive(away: Away) -> None:
    """The furnished dairy has a row of nearly everything, so that the round trip above is of something."""
    filled = set()
    for path in away.files:
        with zipfile.ZipFile(path) as archive:
            tables = json.loads(archive.read(shape.MANIFEST))["tables"]
            filled |= {label for label, table in tables.items() if table["rows"]}
    assert len(filled) >= 65, sorted(set(belongings.tables()) - filled)
    with zipfile.ZipFile(away.files[0]) as archive:
        kinds = {name.split("/")[0] for name in archive.namelist()}
    assert kinds >= {"rows", "attachments", "papers", "tables", shape.MANIFEST, shape.SIGNATURE, shape.VERIFIER}


def test_nobody_comes_in_with_the_password_that_they_had(elsewhere: Away) -> None:
    import_premises(elsewhere.files, at=LATER)
    for user in User.objects.all():
        assert user.has_usable_password()  # or “forgotten” would send no letter
        assert not user.check_password(PASSWORD)
    for path in elsewhere.files:
        with zipfile.ZipFile(path) as archive:
            assert b"argon2" not in archive.read(shape.rows_file("premises.User"))


def test_an_address_that_somebody_has_here_stays_theirs(elsewhere: Away) -> None:
    with zipfile.ZipFile(elsewhere.files[0]) as archive:
        person = json.loads(archive.read(shape.rows_file("premises.User")).splitlines()[0])
    here = User.objects.create_user(email=person["email"], name="Was here before", password=PASSWORD)
    brought = import_premises(elsewhere.files, at=LATER)
    assert brought[0].stand_ins[person["id"]] == person["email"]
    assert User.objects.get(email=person["email"]) == here
    assert not Membership.objects.filter(user=here).exists()


def test_cheese_that_moved_needs_the_other_premises_too(elsewhere: Away) -> None:
    with pytest.raises(KeepingError, match="names one that is not here"), transaction.atomic():
        import_premises(elsewhere.files[:1], at=LATER)
    assert not Premises.objects.exists()
    assert not default_storage.exists("packs") or not any(Path(default_storage.path("packs")).rglob("*.pdf"))


def test_a_premises_that_is_here_is_not_brought_in_again(elsewhere: Away) -> None:
    import_premises(elsewhere.files, at=LATER)
    entries = Entry.objects.count()
    with pytest.raises(KeepingError, match="is here already"), transaction.atomic():
        import_premises(elsewhere.files, at=LATER)
    assert Entry.objects.count() == entries


def remade(path: Path, target: Path, change: Change, *, resign: bool) -> Path:
    """resign: the forger holds a key, of their own, and writes the sums anew."""
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    if resign:
        manifest = json.loads(files[shape.MANIFEST])
        for name, told in manifest["files"].items():
            if name in files:
                told |= {"bytes": len(files[name]), "sha256": hashlib.sha256(files[name]).hexdigest()}
        for label, table in manifest["tables"].items():
            table["rows"] = files[shape.rows_file(label)].count(b"\n")
        files[shape.MANIFEST] = json.dumps(manifest).encode()
        files[shape.SIGNATURE] = signing_key.sign(shape.PURPOSE + files[shape.MANIFEST]).hex().encode()
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return target


def signed_otherwise(files: dict[str, bytes]) -> None:
    """The first digit of each head's signature is another one, so that it is as long as it was."""
    name = "rows/ledger.signedhead.jsonl"
    files[name] = re.sub(
        rb'"signature":"(.)', lambda found: b'"signature":"' + (b"1" if found[1] == b"0" else b"0"), files[name]
    )


def in_rows(label: str, old: bytes, new: bytes) -> Change:
    def change(files: dict[str, bytes]) -> None:
        name = shape.rows_file(label)
        assert old in files[name], (label, files[name][:2000])
        files[name] = files[name].replace(old, new, 1)

    return change


def without_first_line(label: str) -> Change:
    def change(files: dict[str, bytes]) -> None:
        name = shape.rows_file(label)
        files[name] = files[name].split(b"\n", 1)[1]

    return change


def without(name: str) -> Change:
    def change(files: dict[str, bytes]) -> None:
        del files[name]

    return change


def longer(name: str) -> Change:
    def change(files: dict[str, bytes]) -> None:
        files[name] += b" "

    return change


def one_byte_of(prefix: str) -> Change:
    def change(files: dict[str, bytes]) -> None:
        name = next(one for one in sorted(files) if one.startswith(prefix))
        content = bytearray(files[name])
        content[len(content) // 2] ^= 1
        files[name] = bytes(content)

    return change


@pytest.mark.parametrize(
    ("change", "resign", "sentence"),
    [
        (one_byte_of("rows/checks.reading"), False, "rows/checks.reading.jsonl is not the file that was exported"),
        (one_byte_of("attachments/"), False, "is not the file that was exported"),
        (one_byte_of("papers/"), False, "is not the file that was exported"),
        (one_byte_of(shape.MANIFEST), False, "manifest.json"),
        (without("rows/lots.lot.jsonl"), False, "rows/lots.lot.jsonl is missing"),
        (without(shape.SIGNATURE), False, "it holds no manifest.sig"),
        (lambda files: files.update({"more": b"x"}), False, "its manifest does not name it"),
        (one_byte_of("attachments/deviations.evidence"), True, "The export does not verify. The row of evidence:"),
        (without_first_line("ledger.Entry"), True, "Entry 0 of the log"),
        (in_rows("ledger.Entry", b'"index":5', b'"index":6'), True, "lines 1 to"),
        (in_rows("ledger.PersonalText", b'"text":"', b'"text":"X'), True, "was changed: it does not hash"),
        (in_rows("checks.Reading", b'"value_si":', b'"value_si":1'), True, "does not verify. The row of record:"),
        (signed_otherwise, True, "its signature does not hold"),
        (in_rows("checks.Record", b"{", b"["), True, "Line 1 of rows/checks.record.jsonl is not JSON"),
        (in_rows("checks.Record", b'"note":', b'"noted":'), True, "does not have the columns"),
        (in_rows("lots.Lot", b'"id":"', b'"id":"x'), True, "Line 1 of rows/lots.lot.jsonl cannot be read"),
        (without_first_line("ledger.Signature"), True, ""),
        (without_first_line("lots.LotEvent"), True, ""),
    ],
)  # fmt: skip
def test_what_does_not_verify_is_refused_and_named(
    elsewhere: Away, tmp_path: Path, change: Change, resign: bool, sentence: str
) -> None:
    forged = remade(elsewhere.files[0], tmp_path / "forged.zip", change, resign=resign)
    with pytest.raises(KeepingError) as refused, transaction.atomic():
        import_premises([forged, *elsewhere.files[1:]], at=LATER)
    assert sentence in str(refused.value)
    assert not Premises.objects.exists()
    assert not User.objects.exists()


def verifier(*arguments: object) -> subprocess.CompletedProcess[str]:
    """As whoever gets the archive runs it: alone, outside the project, without what is installed for it."""
    return subprocess.run(
        [sys.executable, "-I", "-S", *map(str, arguments)], capture_output=True, text=True, timeout=60, check=False
    )


def test_the_verifier_inside_the_archive_checks_the_archive_alone(away: Away, tmp_path: Path) -> None:
    path = away.files[0]
    with zipfile.ZipFile(path) as archive:
        program = tmp_path / "verify_records.py"
        program.write_bytes(archive.read(shape.VERIFIER))
        size = json.loads(archive.read(shape.MANIFEST))["log"]["size"]
    done = verifier(program, path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.startswith(f"HOLDS. {size} entries")
    assert verifier(program, path, "--fingerprint", "NY2A-WOM4-7767-5BBL/1204").returncode == 1
    assert verifier(program, path, "--key", "0000-0000-0000-0000").returncode == 1


@pytest.mark.parametrize(
    ("change", "resign", "sentence"),
    [
        (one_byte_of("rows/checks.reading"), False, "rows/checks.reading.jsonl is not the file that was exported"),
        (longer(shape.MANIFEST), False, "does not carry a signature"),
        (without("rows/lots.lot.jsonl"), False, "rows/lots.lot.jsonl is missing"),
        (in_rows("ledger.Entry", b'"body":"{', b'"body":"{ '), True, "Entry 0 ("),
        (without_first_line("ledger.Entry"), True, "is out of place: entry 0 is due"),
        (in_rows("ledger.PersonalText", b'"text":"', b'"text":"X'), True, "is not the one that was sealed"),
        (in_rows("ledger.SignedHead", b'"signature":"', b'"signature":"0'), True, "does not carry a signature"),
    ],
)  # fmt: skip
def test_the_verifier_names_what_was_changed(
    away: Away, tmp_path: Path, capsys: Any, change: Change, resign: bool, sentence: str
) -> None:
    forged = remade(away.files[0], tmp_path / "forged.zip", change, resign=resign)
    assert verify_records.main([str(forged)]) == 1
    assert sentence in capsys.readouterr().out
