"""A backup restored by the commands that people use, in a process of its own, on the database at hand."""

import json
import os
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.utils import timezone

from haccp.access.actions import people
from haccp.keeping.counts import first_difference, holdings
from haccp.ledger.models import Log, PersonalText
from haccp.ledger.verification import verify_log
from haccp.premises.models import User
from tests import ROOT
from tests.dairy import OPENED_AT, PASSWORD, open_dairy


@pytest.fixture
def empty(tmp_path: Path, transactional_db: None) -> Iterator[str]:
    """DATABASE_URL of an empty database of the same kind."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'restored.sqlite3'}"
        return
    at, name = connection.settings_dict, f"restored_{os.getpid()}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {name}")
        cursor.execute(f"CREATE DATABASE {name}")
    user = f"{at['USER']}:{at['PASSWORD']}@" if at["USER"] else ""
    yield f"postgres://{user}{at['HOST']}:{at['PORT']}/{name}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def test_a_backup_comes_back_whole_and_the_ledger_verifies(empty: str, tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = tmp_path / "files"
    (tmp_path / "files" / "packs").mkdir(parents=True)
    (tmp_path / "files" / "packs" / "one.pdf").write_bytes(b"%PDF-1.7 whey")
    dairy = open_dairy()
    dairy.save("Room 1 temperature", "11.0", at=OPENED_AT, instrument_id=dairy.thermometer.id)
    archive = tmp_path / "all.tar"

    call_command("backup", str(archive))

    before = holdings()
    with pytest.raises(CommandError, match="is there already"):
        call_command("backup", str(archive))
    with pytest.raises(CommandError, match="holds something already"):
        call_command("restore", str(archive))
    environment = os.environ | {
        "DATABASE_URL": empty,
        "DATA_DIR": str(tmp_path / "data"),
        "FILES_DIR": str(tmp_path / "back"),
        "SECRET_KEY": "only for this test",
        "PYTHONWARNINGS": "ignore",
    }

    def manage(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=environment, capture_output=True, text=True,
            timeout=120, check=False,
        )  # fmt: skip

    done = manage("restore", str(archive))
    assert done.returncode == 0, done.stderr
    assert f"{sum(before['rows'].values())} rows and the heads of 1 logs" in done.stdout
    assert (tmp_path / "back" / "packs" / "one.pdf").read_bytes() == b"%PDF-1.7 whey"
    verified = manage("verify_ledger")
    assert verified.returncode == 0, verified.stderr
    assert f"{Log.objects.get().size} entries" in verified.stdout
    assert manage("migrate", "--check").returncode == 0


def test_a_backup_that_was_changed_or_is_none_is_refused(tmp_path: Path, transactional_db: None) -> None:
    (tmp_path / "no.tar").write_bytes(b"curd")
    with pytest.raises(CommandError, match="is not a backup, or was cut short"):
        call_command("restore", str(tmp_path / "no.tar"))
    archive = tmp_path / "all.tar"
    call_command("backup", str(archive))
    with tarfile.open(archive) as opened:
        member = opened.extractfile("manifest.json")
        assert member is not None
        manifest = json.load(member)
    assert not first_difference(manifest, holdings())
    manifest["rows"]["premises_user"] += 1
    assert first_difference(manifest, holdings()).startswith("rows of premises_user: ")


@pytest.mark.django_db
def test_a_person_is_forgotten_and_every_proof_holds() -> None:
    dairy = open_dairy()
    saved = dairy.save("Room 1 temperature", "11.0", at=OPENED_AT, instrument_id=dairy.thermometer.id)
    email = dairy.maker.user.email
    call = ["erase_person", email, "--reason", "Article 17 GDPR, asked on paper.", "--by", "R. Keeper"]
    with pytest.raises(CommandError, match="still has a role"):
        call_command(*call)
    people.person_leave(
        scope=dairy.owner, membership_id=dairy.maker.membership.id, at=timezone.now() - timedelta(days=900)
    )

    call_command(*call)

    with pytest.raises(CommandError, match="Nobody here has the address"):
        call_command(*call)
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem
    saved.record.refresh_from_db()
    assert str(saved.record.recorded_by) == "Erased person"
    assert not User.objects.filter(email=email).exists()
    assert not PersonalText.objects.filter(text__contains="Milo Maker").exists()
    assert PersonalText.objects.filter(text__contains="Orla Owner").exists()
    assert not User.objects.get(pk=dairy.maker.user.pk).check_password(PASSWORD)
