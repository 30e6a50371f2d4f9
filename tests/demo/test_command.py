"""`manage.py demo` as a person meets it: the real process, the real server, and one sentence for what goes wrong."""

import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from django.urls import get_resolver

from haccp.config.demo.people import PEOPLE
from tests.demo.runs import Folder, refusal

pytestmark = pytest.mark.xdist_group("demo command")
PATIENCE_S = 60
SIGN_IN = any(
    getattr(route, "app_name", "") == "premises" and route.url_patterns for route in get_resolver().url_patterns
)


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Folder:
    """Loaded as it was a day and two hours ago; tests that write take a copy."""
    folder = Folder(tmp_path_factory.mktemp("demo"))
    folder.load(hours_ago=26)
    return folder


@pytest.fixture
def copy(loaded: Folder, tmp_path: Path) -> Folder:
    shutil.copytree(loaded.path, tmp_path / "data")
    return Folder(tmp_path / "data")


def count(folder: Folder, table: str, where: str = "1 = 1") -> int:
    with sqlite3.connect(folder.database) as reader:
        found: int = reader.execute(f"SELECT count(*) FROM {table} WHERE {where}").fetchone()[0]
    reader.close()
    return found


def test_a_second_run_keeps_what_is_there_and_the_schedule_goes_on(copy: Folder) -> None:
    records = count(copy, "checks_record")
    process = copy.start("--port", "0")
    try:
        printed = _printed(process)
        address = re.search(r"^Open (http://\S+)$", printed, re.MULTILINE)
        assert address, printed
        assert all(person.email in printed and person.password in printed for person in PEOPLE)
        assert b'"alive": true' in _get(f"{address[1]}health/")
        # Straight from the source folder: nothing was collected.
        assert b"{" in _get(f"{address[1]}static/css/pictures.css")
        if SIGN_IN:
            assert b'type="password"' in _get(address[1])
        _wait_for_the_schedule(copy)
        assert "is running" in refusal(copy.demo("--fresh", "--yes"))
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 0

    # A day and two hours of rounds that nobody did, counted before the first page was served.
    said = re.search(r"(\d+) checks were missed while the demo was not running", printed)
    assert said
    assert int(said[1]) == count(copy, "checks_missedcheck") > 10
    assert count(copy, "checks_record") == records


def test_fresh_without_a_terminal_refuses_and_touches_nothing(copy: Folder) -> None:
    before = copy.database.read_bytes()
    assert "add --yes to agree without a terminal" in refusal(copy.demo("--fresh"))
    assert copy.database.read_bytes() == before


def test_a_port_in_use_is_said_before_anything_is_made(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        process = Folder(tmp_path).start("--port", str(port))
        _, said = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 1
    assert said.strip() == (
        f"CommandError: Port {port} is in use: stop what runs there, or choose another with --port."
    )
    assert not Folder(tmp_path).database.exists()


def test_a_folder_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    (tmp_path / "a file").touch()
    folder = Folder(tmp_path / "a file" / "data")
    assert f"The folder {folder.path} cannot be written to" in refusal(folder.demo())


def test_an_older_database_that_cannot_be_migrated_is_said_to_be_so(copy: Folder) -> None:
    """A database from before a migration whose tables are there already: running it again must fail."""
    with sqlite3.connect(copy.database) as older:
        older.execute("DELETE FROM django_migrations WHERE app = 'reports'")
    older.close()
    sentence = refusal(copy.demo())
    assert "already exists" in sentence
    assert "--fresh" in sentence or "backup" in sentence


def test_a_full_disk_leaves_nothing_half_loaded(tmp_path: Path) -> None:
    """SQLite answers as it does on a full disk once the file may grow no further."""
    folder = Folder(tmp_path)
    said = folder.python(FULL_DISK)
    assert "is full: nothing was half loaded; make room and start again." in said
    for table in ("premises_premises", "premises_user", "checks_record", "ledger_entry", "ledger_log"):
        assert count(folder, table) == 0


FULL_DISK = """
import django
django.setup()
from django.core.management import call_command
from django.core.management.base import CommandError
from django.conf import settings
from django.db import connection
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
call_command("migrate", verbosity=0)
with connection.cursor() as cursor:
    pages = cursor.execute("PRAGMA page_count").fetchone()[0]
    cursor.execute(f"PRAGMA max_page_count = {pages + 15}")
try:
    call_command("demo", no_serve=True, days=2)
except CommandError as error:
    print(error)
"""


def _printed(process: subprocess.Popen[str]) -> str:
    """Everything up to the last line that it prints at its start."""
    printed: list[str] = []
    assert process.stdout is not None
    for line in process.stdout:
        printed.append(line)
        if line.startswith("Stop with"):
            break
    return "".join(printed)


def _get(url: str) -> bytes:
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            with urllib.request.urlopen(url, timeout=10) as answer:
                body: bytes = answer.read()
                return body
        except urllib.error.HTTPError:
            raise
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)


def _wait_for_the_schedule(folder: Folder) -> None:
    """The command itself sweeps once at its start; every later run is the schedule's."""
    deadline = time.monotonic() + PATIENCE_S
    swept: set[str] = set()
    while len(swept) < 3:
        assert time.monotonic() < deadline, f"The schedule did not run: {swept}"
        with sqlite3.connect(folder.database) as reader:
            swept |= {row[0] for row in reader.execute("SELECT finished_at FROM checks_sweeprun")}
        reader.close()
        time.sleep(0.3)


@pytest.fixture(autouse=True)
def _no_network_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("no_proxy", "127.0.0.1")
