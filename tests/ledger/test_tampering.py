"""Somebody who owns the database changes a column of a sealed table, or drops a row: the verifier names it.

Every table that the migrations seal is tried, with every column of a row of it.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.db.models import Field, Model

from batches.stock.models import Dispatch, Transfer
from haccp.ledger import triggers
from haccp.ledger.models import Log
from haccp.ledger.triggers import RefuseChanges
from haccp.ledger.verification import verify_log
from haccp.premises.models import Premises
from haccp.reports.models import VisitPack
from tests.furnished import furnished_dairy

pytestmark = pytest.mark.django_db

# Columns that no entry repeats, and why a change of them is no change of what was recorded.
UNSEALED: dict[str, str] = {
    "access.Invitation.email": "personal, and may be erased",
    "access.Invitation.name": "personal, and may be erased",
    "ledger.Log.opened_at": "shown nowhere, and nothing is decided by it; the first entry has its own moment",
    "ledger.PersonalText.reason": "sealed once the name is erased; empty before",
    "ledger.PersonalText.log_id": "of a name that signatures alone use: they hold it themselves",
}


@pytest.fixture(scope="module")
def log(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[Log]:
    with furnished_dairy(django_db_blocker, tmp_path_factory.mktemp("files")) as objects:
        connection.check_constraints()
        triggers.lift(connection)
        # Put there for pages to show, past the actions that would have sealed them.
        for fake in (VisitPack, Transfer, Dispatch):
            fake._base_manager.all().delete()
        yield Premises.objects.get(memberships__pk=objects.ids["membership"]).log


def sealed_models() -> list[type[Model]]:
    tables = {guard.table for guard in triggers.declared(connection) if isinstance(guard, RefuseChanges)}
    return sorted((m for m in apps.get_models() if m._meta.db_table in tables), key=lambda m: m._meta.label)


def other_than(field: "Field[Any, Any]", value: Any) -> Any:
    """Another value that the column holds; None where there is none to be had."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float | Decimal):
        return value + 1
    if isinstance(value, dt.datetime):
        return value + dt.timedelta(microseconds=1)
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=1)
    if isinstance(value, uuid.UUID):
        return uuid.UUID(int=value.int ^ 1)
    if isinstance(value, str):
        return value[:-1] + ("y" if value.endswith("x") else "x") if value else "x"
    if isinstance(value, bytes | memoryview):
        content = bytearray(value)
        content[len(content) // 2] ^= 1
        return bytes(content)
    if isinstance(value, dict):
        return value | {"x": 1}
    return [*value, 1] if isinstance(value, list) else None


def named(logs: list[Log], change: Callable[[], object]) -> bool | None:
    """Whether the verifier names what a change did, which is then undone; None where the database itself refuses."""
    try:
        with transaction.atomic():
            change()
            problem = next((found for one in logs if (found := verify_log(one).problem)), "")
            transaction.set_rollback(True)
    except DatabaseError:
        return None
    return bool(problem)


def test_every_column_of_every_sealed_table(log: Log) -> None:
    logs = [log, *Log.objects.exclude(pk=log.pk)]
    assert all(verify_log(one).holds for one in logs)
    tried, silent = set(), set()
    for model in sealed_models():
        row = model._default_manager.order_by("pk").first()
        for field in model._meta.local_fields if row is not None else ():
            new = other_than(field, getattr(row, field.attname))
            if field.primary_key or new is None:
                continue
            rows, name = model._base_manager.filter(pk=row.pk), f"{model._meta.label}.{field.attname}"  # type: ignore[union-attr]
            found = named(logs, lambda rows=rows, field=field, new=new: rows.update(**{field.attname: new}))  # type: ignore[misc]
            tried.add(name)
            if found is False:
                silent.add(name)
    assert len(tried) > 250
    # Which row is the first differs from run to run, so that some of these are not tried with a value of their own.
    assert silent <= set(UNSEALED)


def test_every_sealed_table_with_a_row_less(log: Log) -> None:
    tried, logs = 0, [log, *Log.objects.exclude(pk=log.pk)]
    for model in sealed_models():
        row = model._default_manager.order_by("pk").first()
        if row is None or model is Log:  # a log is held by the reference of its premises
            continue
        rows = model._base_manager.filter(pk=row.pk)
        found = named(logs, lambda rows=rows: rows._raw_delete(rows.db))  # type: ignore[misc]
        tried += 1
        assert found is not False, model._meta.label
    assert tried > 30
