"""Brings the database to the point where the demo can be served: migrated, loaded, and caught up with the clock."""

from dataclasses import dataclass
from datetime import datetime

from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError

from haccp.checks import actions as checks
from haccp.config.demo import database, history
from haccp.config.demo.people import DAIRY


@dataclass(frozen=True, slots=True)
class Prepared:
    """is_new: loaded just now. migrated: an older database was brought up to date. missed: checks that fell due and
    were missed since it last ran."""

    is_new: bool
    migrated: bool
    missed: int


def prepare(*, now: datetime, days: int = history.DAYS) -> Prepared:
    """days: how much history a dairy loaded now gets.

    Raises CommandError, one sentence, for everything that stands in the way; nothing is then half done."""
    held = database.look()
    if held.dairies and not held.has_demo:
        raise CommandError(
            f"{database.name_of_database()} holds {', '.join(held.dairies)}, which is not the demo dairy, and was left "
            "as it is: set DATA_DIR or DATABASE_URL to another place."
        )
    if held.is_older:
        _migrate()
    with database.database_errors_as_sentences():
        if not held.has_demo:
            history.load(now=now, days=days)
            return Prepared(is_new=True, migrated=False, missed=0)
        return Prepared(is_new=False, migrated=held.is_older, missed=checks.sweep(now=now).flagged)


def _migrate() -> None:
    try:
        call_command("migrate", verbosity=0, interactive=False)
    except DatabaseError as error:
        raise CommandError(database.sentence_for(error)) from error
    except Exception as error:  # a migration may raise anything
        said = str(error).strip().split("\n")[0]
        raise CommandError(
            f"{database.name_of_database()} is of an older version and cannot be brought up to date ({said}): start "
            f"{DAIRY} anew with --fresh, or set DATA_DIR to another folder."
        ) from error
