"""What the configured database holds before the demo touches it, with a sentence for each way in which it is unfit."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from haccp.config.demo.people import DAIRY

OURS = ("django_migrations", "premises_premises")


@dataclass(frozen=True, slots=True)
class Held:
    """dairies: names of the premises there. is_older: migrations are to be run."""

    dairies: tuple[str, ...]
    is_older: bool

    @property
    def has_demo(self) -> bool:
        return DAIRY in self.dairies


def sqlite_file() -> Path | None:
    """The database's file; None where it is not SQLite, or in memory."""
    if connection.vendor != "sqlite" or connection.is_in_memory_db():  # type: ignore[attr-defined]
        return None
    return Path(str(connection.settings_dict["NAME"]))


def name_of_database() -> str:
    path = sqlite_file()
    return str(path) if path else f"The database {connection.settings_dict['NAME']}"


def refuse_unwritable() -> None:
    """Raises CommandError where the folder of the data, or of the SQLite file, cannot be written to."""
    path = sqlite_file()
    for folder in {settings.DATA_DIR, path.parent if path else settings.DATA_DIR}:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                pass
        except OSError as error:
            raise CommandError(
                f"The folder {folder} cannot be written to ({error.strerror}): set DATA_DIR to a folder that can, or "
                "change its permissions."
            ) from error


def look() -> Held:
    """What is there. Raises CommandError for what cannot be read, is not ours, or is of a newer version."""
    with database_errors_as_sentences():
        dairies = dairies_there()
        if dairies is None:
            return Held((), is_older=True)
        _refuse_newer()
        executor = MigrationExecutor(connection)
        return Held(dairies, is_older=bool(executor.migration_plan(executor.loader.graph.leaf_nodes())))


def dairies_there() -> tuple[str, ...] | None:
    """Names of the premises, whatever the version that wrote them; None for an empty database.

    Raises DatabaseError for what cannot be read, CommandError for what is not ours.
    """
    path = sqlite_file()
    tables = set(_read(path, "SELECT name FROM sqlite_master WHERE type = 'table'")) if path else _tables_of_this_name()
    if not tables:
        return None
    if any(table not in tables for table in OURS):
        raise CommandError(
            f"{name_of_database()} holds tables of another program and was left as it is: set DATA_DIR or "
            "DATABASE_URL to another place."
        )
    names = "SELECT name FROM premises_premises ORDER BY name"
    if path:
        return tuple(_read(path, names))
    with connection.cursor() as cursor:
        cursor.execute(names)
        return tuple(str(row[0]) for row in cursor.fetchall())


def _tables_of_this_name() -> set[str]:
    """On a server one database may serve several programs, so only tables that bear the names of ours count."""
    ours = {*connection.introspection.django_table_names(), *OURS}
    with connection.cursor() as cursor:
        return ours & {table.name for table in connection.introspection.get_table_list(cursor)}


def _read(path: Path, query: str) -> list[str]:
    """First column, read without changing a byte: another program's file stays exactly as it was."""
    if not path.exists() or path.stat().st_size == 0:
        return []
    try:
        reader = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        try:
            return [str(row[0]) for row in reader.execute(query)]
        finally:
            reader.close()
    except sqlite3.Error as error:
        raise DatabaseError(str(error)) from error


def _refuse_newer() -> None:
    loader = MigrationLoader(connection)
    labels = {app for app, _ in loader.disk_migrations}
    known = set(loader.disk_migrations) | {old for one in loader.disk_migrations.values() for old in one.replaces}
    unknown = sorted(
        f"{app}.{name}" for app, name in loader.applied_migrations if app in labels and (app, name) not in known
    )
    if unknown:
        raise CommandError(
            f"{name_of_database()} was written by a newer version of this program (it knows {unknown[0]}): use that "
            "version, or set DATA_DIR to another folder."
        )


@contextmanager
def database_errors_as_sentences() -> Iterator[None]:
    """Turns what a database says when it cannot go on into a CommandError that says what to do."""
    try:
        yield
    except (DatabaseError, sqlite3.Error) as error:
        raise CommandError(sentence_for(error)) from error


def sentence_for(error: Exception) -> str:
    said, name = str(error).strip().split("\n")[0], name_of_database()
    for sign, sentence in (
        (
            "not a database",
            "{name} is not a database: move the file away, or start anew with --fresh, which keeps it beside.",
        ),
        (
            "malformed",
            "{name} is damaged: put a backup in its place, or start anew with --fresh, which keeps it beside.",
        ),
        ("disk is full", "The disk of {name} is full: nothing was half loaded; make room and start again."),
        ("disk I/O", "{name} cannot be written to, as when a disk is full or failing: nothing was half loaded."),
        ("No space left", "The disk of {name} is full: nothing was half loaded; make room and start again."),
        ("locked", "Another process is writing to {name}: stop it or wait for it, then start again."),
        ("readonly", "{name} may only be read: change its permissions, or set DATA_DIR to another folder."),
        ("unable to open", "{name} cannot be opened: change its permissions, or set DATA_DIR to another folder."),
    ):
        if sign in said:
            return sentence.format(name=name)
    if isinstance(error, OperationalError) and not settings.USES_SQLITE:
        return f"{name} does not answer ({said}): start it, or correct DATABASE_URL."
    return f"{name} cannot be used ({said}): put a backup in its place, or set DATA_DIR to another folder."
