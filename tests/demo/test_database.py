"""What the demo says of a database that it cannot use, and that it leaves it as it was."""

import sqlite3
from pathlib import Path

import pytest
from django.core.management.base import CommandError
from django.db import DatabaseError
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from haccp.config.demo import database, prepare
from tests.dairy import open_dairy


@pytest.fixture
def file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Where the database is to be; nothing is there yet."""
    path = tmp_path / "curdward.sqlite3"
    monkeypatch.setattr(database, "sqlite_file", lambda: path)
    return path


def refusal() -> str:
    with pytest.raises(CommandError) as refused:
        database.look()
    return str(refused.value)


def test_nothing_there_is_nothing_wrong(file: Path) -> None:
    assert database.look() == database.Held((), is_older=True)
    file.touch()
    assert database.look() == database.Held((), is_older=True)


def test_a_file_that_is_no_database_is_left_alone(file: Path) -> None:
    text = b"Minutes of the meeting of the dairy's neighbours\n" * 40
    file.write_bytes(text)
    assert refusal().startswith(f"{file} is not a database: move the file away")
    assert file.read_bytes() == text


def test_a_database_of_another_program_is_left_alone(file: Path) -> None:
    with sqlite3.connect(file) as other:
        other.execute("CREATE TABLE recipes (name TEXT)")
    other.close()
    before = file.read_bytes()
    assert "holds tables of another program and was left as it is" in refusal()
    assert file.read_bytes() == before


def test_a_damaged_database_is_said_to_be_damaged(file: Path) -> None:
    with sqlite3.connect(file) as whole:
        for number in range(200):
            whole.execute(f"CREATE TABLE t{number} (name TEXT)")
    whole.close()
    with file.open("r+b") as damaged:
        damaged.seek(100)
        damaged.write(b"\xff" * 30_000)
    assert "is damaged: put a backup in its place" in refusal()


@pytest.mark.django_db
def test_a_database_of_a_newer_version_is_left_alone() -> None:
    MigrationRecorder.Migration.objects.create(app="plan", name="0999_not_yet_written", applied=timezone.now())
    assert "was written by a newer version of this program (it knows plan.0999_not_yet_written)" in refusal()


@pytest.mark.django_db
def test_migrations_of_programs_that_are_no_longer_installed_do_not_matter() -> None:
    MigrationRecorder.Migration.objects.create(app="cheese_of_the_week", name="0001_initial", applied=timezone.now())
    assert database.look() == database.Held((), is_older=False)


@pytest.mark.django_db
def test_a_dairy_that_is_not_the_demo_is_left_alone() -> None:
    open_dairy(name="Weir Farm Dairy")
    with pytest.raises(CommandError, match="holds Weir Farm Dairy, which is not the demo dairy"):
        prepare.prepare(now=timezone.now())


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("database is locked", "Another process is writing to"),
        ("attempt to write a readonly database", "may only be read"),
        ("unable to open database file", "cannot be opened"),
        ("database or disk is full", "is full: nothing was half loaded"),
        ("disk I/O error", "full or failing: nothing was half loaded"),
        ("something never heard of", "cannot be used (something never heard of)"),
    ],
)
def test_what_the_database_says_becomes_a_sentence(said: str, sentence: str) -> None:
    assert sentence in database.sentence_for(DatabaseError(said))
