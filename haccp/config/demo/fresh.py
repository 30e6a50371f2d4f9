"""Throws the demo's own database away, and nothing else; what cannot be read is kept beside, never removed."""

import fcntl
import shutil
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, connection, transaction

from haccp.config.demo import database
from haccp.config.demo.people import DAIRY
from haccp.ledger import triggers

SUFFIXES = ("", "-wal", "-shm", "-journal")


def what_would_go() -> str:
    """One sentence for the person who is asked; empty where there is nothing to throw away.

    Raises CommandError where the database is not the demo's, or the demo runs on it.
    """
    try:
        dairies = database.dairies_there()
    except DatabaseError:
        return f"{database.name_of_database()} cannot be read; it is moved aside and kept."
    if dairies is None:
        return ""
    others = [name for name in dairies if name != DAIRY]
    if others:
        raise CommandError(
            f"{database.name_of_database()} holds {', '.join(others)}, which is not the demo dairy: --fresh throws "
            "away nothing but the demo. Set DATA_DIR or DATABASE_URL to another place."
        )
    _refuse_while_running()
    return f"{database.name_of_database()}: everything recorded at {DAIRY} is thrown away for good."


def throw_away(*, now: datetime) -> None:
    """Call what_would_go first, and ask."""
    connection.close()
    path = database.sqlite_file()
    if path is None:
        _drop_tables()
    elif _is_readable():
        for suffix in SUFFIXES:
            path.with_name(path.name + suffix).unlink(missing_ok=True)
    else:
        for suffix in SUFFIXES:
            kept = path.with_name(f"{path.name}.unreadable-{now:%Y%m%dT%H%M%S}{suffix}")
            if path.with_name(path.name + suffix).exists():
                path.with_name(path.name + suffix).rename(kept)
    for left in settings.DATA_DIR.glob("celerybeat-schedule*"):
        left.unlink()
    (settings.DATA_DIR / "schedule.lock").unlink(missing_ok=True)
    shutil.rmtree(Path(settings.MEDIA_ROOT) / "packs", ignore_errors=True)


def _is_readable() -> bool:
    try:
        database.dairies_there()
    except DatabaseError:
        return False
    return True


def _refuse_while_running() -> None:
    lock = settings.DATA_DIR / "schedule.lock"
    if not lock.exists():
        return
    with lock.open("r+") as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise CommandError(f"The demo is running on {settings.DATA_DIR}: stop it, then start anew.") from error


def _drop_tables() -> None:
    """On PostgreSQL: this program's own tables, by name; other tables of the database stay."""
    with transaction.atomic():
        triggers.lift(connection)
        ours = [*connection.introspection.django_table_names(only_existing=True, include_views=False)]
        with connection.cursor() as cursor:
            for table in [*ours, "django_migrations"]:
                cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)} CASCADE")
