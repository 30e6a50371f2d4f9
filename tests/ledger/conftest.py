"""A log to seal in, and a moment at which it is done."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.db import connection, transaction

from haccp.ledger import actions, triggers
from haccp.ledger.actions import Sealing
from haccp.ledger.models import Entry, Log

NOON = dt.datetime(2026, 4, 9, 12, 0, 0, 123456, tzinfo=dt.UTC)
Fill = Callable[..., list[Entry]]


@pytest.fixture
def log(db: None) -> Log:
    return actions.open_log(key="upper-dairy", at=NOON)


@pytest.fixture
def fill(log: Log) -> Fill:
    """Seals `count` readings, with subjects reading:0, reading:1 ..., on from where the log stands."""

    def sealed(count: int, into: Log = log) -> list[Entry]:
        into.refresh_from_db()
        sealings = [
            Sealing("reading", f"reading:{number}", {"number": number, "milk": "ewe’s"})
            for number in range(into.size, into.size + count)
        ]
        with transaction.atomic():
            entries = actions.seal_many(log_id=into.pk, sealings=sealings, actor="7 Ana Ruiz", at=NOON)
        into.refresh_from_db()
        return entries

    return sealed


@pytest.fixture
def tamper(db: None) -> Callable[..., None]:
    """Runs SQL as somebody would who owns the database and first takes its triggers away; undone with the test."""

    def run(*statements: tuple[str, list[object]]) -> None:
        # PostgreSQL drops no trigger of a table whose foreign keys are still to be checked.
        connection.check_constraints()
        triggers.lift(connection)
        with connection.cursor() as cursor:
            for sql, parameters in statements:
                cursor.execute(sql, parameters)

    return run
