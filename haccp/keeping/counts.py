"""What a database holds, so that a copy of it can be proven to hold the same: rows of each table, head of each log."""

from collections.abc import Mapping
from typing import TypedDict

from django.apps import apps
from django.db import connection

from haccp.ledger.models import Log

# Of the moment, not of the records: who is signed in, and what was answered.
PASSING = frozenset({"django_session", "axes_accessattempt", "axes_accessfailurelog", "axes_accesslog"})


class Holdings(TypedDict):
    rows: dict[str, int]
    heads: dict[str, list[object]]


def holdings() -> Holdings:
    """One query for each table."""
    tables = {field.m2m_db_table() for model in apps.get_models() for field in model._meta.local_many_to_many}
    tables |= {model._meta.db_table for model in apps.get_models() if model._meta.managed}
    return Holdings(
        rows={table: _count(table) for table in sorted(tables - PASSING)},
        heads={log.key: [log.size, log.frontier.root().hex()] for log in Log.objects.order_by("key")},
    )


def first_difference(before: Mapping[str, object], after: Mapping[str, object]) -> str:
    """The first thing that is not the same, in words; "" where all is."""
    for what, one in (("rows", "rows"), ("heads", "the head")):
        old, new = before[what], after[what]
        assert isinstance(old, dict)
        assert isinstance(new, dict)
        for name in sorted(old.keys() | new.keys()):
            if old.get(name) != new.get(name):
                return f"{one} of {name}: {old.get(name, 'nothing')} in the copy, {new.get(name, 'nothing')} here"
    return ""


def _count(table: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {connection.ops.quote_name(table)}")  # noqa: S608  (a model's table)
        return int(cursor.fetchone()[0])
