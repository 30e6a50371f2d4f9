"""`--fresh`: asks, throws away the demo's own database and nothing else, and loads anew."""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import psycopg
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from haccp.config.demo import database, fresh
from haccp.config.demo.people import DAIRY
from haccp.premises.models import Premises
from tests.conftest import QUICK_HASHERS
from tests.demo.runs import Folder
from tests.services import need_postgres, with_database

NOW = datetime(2026, 11, 25, 11, 40, tzinfo=UTC)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, settings: object) -> list[str]:
    """The demo's file as far as --fresh looks at it, a person at a terminal, and what they are asked."""
    questions: list[str] = []
    write_database(tmp_path / "curdward.sqlite3", DAIRY)
    settings.DATA_DIR = tmp_path  # type: ignore[attr-defined]
    settings.MEDIA_ROOT = tmp_path / "files"  # type: ignore[attr-defined]
    settings.PASSWORD_HASHERS = QUICK_HASHERS  # type: ignore[attr-defined]
    monkeypatch.setattr(database, "sqlite_file", lambda: tmp_path / "curdward.sqlite3")
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda prompt: questions.append(prompt) or "no")
    return questions


def write_database(path: Path, dairy: str) -> None:
    with sqlite3.connect(path) as writer:
        writer.execute("CREATE TABLE django_migrations (app TEXT, name TEXT)")
        writer.execute("CREATE TABLE premises_premises (name TEXT)")
        writer.execute("INSERT INTO premises_premises VALUES (?)", [dairy])
    writer.close()


def test_a_dairy_that_is_not_the_demo_is_never_thrown_away(asked: list[str], tmp_path: Path) -> None:
    (tmp_path / "curdward.sqlite3").unlink()
    write_database(tmp_path / "curdward.sqlite3", "Our own dairy")
    with pytest.raises(CommandError, match="holds Our own dairy, which is not the demo dairy"):
        call_command("demo", fresh=True, yes=True, no_serve=True)
    assert (tmp_path / "curdward.sqlite3").exists()


def test_another_programs_file_is_never_thrown_away(asked: list[str], tmp_path: Path) -> None:
    (tmp_path / "curdward.sqlite3").unlink()
    with sqlite3.connect(tmp_path / "curdward.sqlite3") as other:
        other.execute("CREATE TABLE recipes (name TEXT)")
    other.close()
    with pytest.raises(CommandError, match="holds tables of another program and was left as it is"):
        call_command("demo", fresh=True, yes=True, no_serve=True)
    assert (tmp_path / "curdward.sqlite3").exists()


def test_an_answer_other_than_yes_throws_nothing_away(asked: list[str], tmp_path: Path) -> None:
    before = (tmp_path / "curdward.sqlite3").read_bytes()
    with pytest.raises(CommandError, match="Nothing was thrown away"):
        call_command("demo", fresh=True, no_serve=True)
    assert asked == ["Type yes to go on: "]
    assert (tmp_path / "curdward.sqlite3").read_bytes() == before


def test_it_takes_away_its_own_files_and_no_other(asked: list[str], tmp_path: Path) -> None:
    own = ["curdward.sqlite3", "schedule.lock", "celerybeat-schedule.db", "files/packs/2026/11/pack.pdf"]
    others = ["letters.txt", "curdward.sqlite3.backup", "secret_key", "files/photo.jpg"]
    for name in (*own[1:], *others):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()

    assert "is thrown away for good" in fresh.what_would_go()
    fresh.throw_away(now=NOW)

    assert [name for name in own if (tmp_path / name).exists()] == []
    assert [name for name in others if not (tmp_path / name).exists()] == []


def test_what_cannot_be_read_is_moved_aside_and_kept(asked: list[str], tmp_path: Path) -> None:
    (tmp_path / "curdward.sqlite3").write_bytes(b"no database at all, but somebody's work" * 30)
    assert "is moved aside and kept" in fresh.what_would_go()
    fresh.throw_away(now=NOW)
    kept = tmp_path / "curdward.sqlite3.unreadable-20261125T114000"
    assert kept.read_bytes().startswith(b"no database at all")
    assert not (tmp_path / "curdward.sqlite3").exists()


@pytest.mark.django_db
def test_a_first_run_loads_and_a_second_does_not(settings: object) -> None:
    settings.PASSWORD_HASHERS = QUICK_HASHERS  # type: ignore[attr-defined]
    call_command("demo", no_serve=True, days=2)
    opened = Premises.objects.get()
    call_command("demo", no_serve=True, days=2)
    assert Premises.objects.get() == opened


@pytest.mark.postgres
def test_it_loads_and_begins_anew_on_postgresql(tmp_path: Path) -> None:
    server = need_postgres()
    name = f"curdward_demo_{tmp_path.parent.name}_{tmp_path.name}"[:60].replace("-", "_")
    with psycopg.connect(server, autocommit=True) as admin:
        admin.execute(f'CREATE DATABASE "{name}"')
        try:
            url = with_database(server, name)
            with psycopg.connect(url, autocommit=True) as there:
                there.execute("CREATE TABLE neighbours (name TEXT)")
            folder = Folder(tmp_path, (("DATABASE_URL", url.replace("postgresql:", "postgres:", 1)),))
            asked, empty, loaded, verified = folder.python(ANEW).splitlines()
            assert "thrown away for good" in asked
            assert (empty, loaded, verified) == ("''", "True False", "''")
            with psycopg.connect(url) as there:
                assert there.execute("SELECT count(*) FROM neighbours").fetchone() == (0,)
        finally:
            admin.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


ANEW = """
from datetime import UTC, datetime
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
from haccp.config.demo import fresh
from haccp.config.demo.people import open_with_people
from haccp.config.demo.prepare import prepare
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
now = datetime.now(UTC)
call_command("migrate", verbosity=0)
open_with_people(now)
print(fresh.what_would_go())
fresh.throw_away(now=now)
print(repr(fresh.what_would_go()))
print(prepare(now=now, days=2).is_new, prepare(now=now, days=2).is_new)
print(repr(verify_log(Log.objects.get()).problem))
"""
