"""A copy of everything in one file, and back: the database, the files, and what they must hold.

The archive is a tar file: `manifest.json`, `database` (SQLite's own copy, or pg_dump's custom format) and `files/`.
The keys (`SECRET_KEY`, `LEDGER_KEY`) are not in it: whoever gets hold of a backup must not be able to sign heads.
"""

import io
import json
import os
import shutil
import sqlite3
import subprocess
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

from haccp.keeping.counts import Holdings, first_difference, holdings

FORMAT = "curdward-backup/1"


class KeepingError(Exception):
    """A backup or restoring that cannot go on; the message says why and what to do. Nothing was changed."""


def back_up(path: Path) -> Holdings:
    """Writes everything into a new file. What is written while it runs is in it whole or not at all.

    Errors: KeepingError where the file is there already, or pg_dump is not to be had or fails.
    """
    if path.exists():
        raise KeepingError(f"{path} is there already: name a new file.")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "database"
        held = _copy_sqlite(copy) if connection.vendor == "sqlite" else _dump_postgres(copy)
        manifest = {"format": FORMAT, "database": connection.vendor, "made_at": timezone.now().isoformat(), **held}
        unfinished = path.with_name(path.name + ".unfinished")
        with tarfile.open(unfinished, "w") as archive:
            _add(archive, "manifest.json", json.dumps(manifest, indent=1).encode())
            archive.add(copy, "database")
            if Path(settings.MEDIA_ROOT).exists():
                archive.add(settings.MEDIA_ROOT, "files")
        with unfinished.open("rb") as written:
            os.fsync(written.fileno())
        unfinished.rename(path)
    return held


def restore(path: Path) -> Holdings:
    """Brings a backup into an empty database and an empty folder of files, and proves that it holds the same.

    Errors: KeepingError for a file that is no backup, one of the other kind of database, a database or folder that
    holds something, or a copy that differs: then it says in what.
    """
    with tempfile.TemporaryDirectory() as folder:
        manifest = _unpack(path, Path(folder))
        if manifest.get("database") != connection.vendor:
            raise KeepingError(
                f"{path} is of {manifest.get('database')}, and DATABASE_URL names {connection.vendor}: restore it into "
                "a database of its own kind."
            )
        _refuse_full()
        if connection.vendor == "sqlite":
            _place_sqlite(Path(folder) / "database")
        else:
            _run_postgres("pg_restore", "--no-owner", "--exit-on-error", "-d", _url(), str(Path(folder) / "database"))
        if (Path(folder) / "files").exists():
            shutil.copytree(Path(folder) / "files", settings.MEDIA_ROOT, dirs_exist_ok=True)
    held = holdings()
    difference = first_difference(manifest, held)
    if difference:
        raise KeepingError(f"The restored database does not hold what the backup held: {difference}.")
    return held


def _copy_sqlite(copy: Path) -> Holdings:
    """SQLite's own online copy; counted inside one read transaction of the copy, so that both agree."""
    connection.ensure_connection()
    with sqlite3.connect(copy) as target:
        connection.connection.backup(target)
    target.close()
    with _on(copy):
        return holdings()


@contextmanager
def _on(copy: Path) -> Iterator[None]:
    """The default connection's queries answered by a copy."""
    before = connection.connection
    connection.connection = sqlite3.connect(**connection.get_connection_params() | {"database": str(copy)})
    try:
        yield
    finally:
        connection.connection.close()
        connection.connection = before


def _dump_postgres(copy: Path) -> Holdings:
    """One snapshot for the dump and for the counting."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        _run_postgres("pg_dump", "-Fc", f"--snapshot={snapshot}", "-f", str(copy), "-d", _url())
        return holdings()


def _url() -> str:
    """As libpq reads it; the password goes by the environment, where no list of processes shows it."""
    at = connection.settings_dict
    user = f"{at['USER']}@" if at["USER"] else ""
    port = f":{at['PORT']}" if at["PORT"] else ""
    return f"postgresql://{user}{at['HOST']}{port}/{at['NAME']}"


def _run_postgres(program: str, *arguments: str) -> None:
    found = shutil.which(program)
    if found is None:
        raise KeepingError(f"{program} is not installed: install PostgreSQL's client programs.")
    environment = os.environ | {"PGPASSWORD": str(connection.settings_dict["PASSWORD"] or "")}
    done = subprocess.run([found, *arguments], env=environment, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode != 0:
        raise KeepingError(f"{program} failed: {done.stderr.strip()[:500]}")


def _add(archive: tarfile.TarFile, name: str, data: bytes) -> None:
    entry = tarfile.TarInfo(name)
    entry.size = len(data)
    archive.addfile(entry, io.BytesIO(data))


def _unpack(path: Path, folder: Path) -> dict[str, Any]:
    try:
        with tarfile.open(path) as archive:
            archive.extractall(folder, filter="data")
        manifest: dict[str, Any] = json.loads((folder / "manifest.json").read_text())
    except (OSError, tarfile.TarError, ValueError) as error:
        raise KeepingError(f"{path} is not a backup, or was cut short: {error}") from error
    if manifest.get("format") != FORMAT:
        raise KeepingError(f"{path} is not a backup of this service: its format is not {FORMAT}.")
    return manifest


def _refuse_full() -> None:
    if connection.introspection.table_names():
        raise KeepingError("The database holds something already: restore into an empty one, so that nothing is lost.")
    files = Path(settings.MEDIA_ROOT)
    if files.exists() and any(files.iterdir()):
        raise KeepingError(f"{files} holds files already: set FILES_DIR to an empty folder.")


def _place_sqlite(copy: Path) -> None:
    target = Path(connection.settings_dict["NAME"])
    connection.close()
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(copy, target)
