"""All that was made from lots, and all that went into them: one recursive query, whatever the number of steps.

A lot may be reached by many ways (whey of three makes in one ricotta): UNION keeps each once, so that the cost grows
with the links of what is reached, not with what is stored nor with the number of ways.
"""

from collections.abc import Collection, Iterable
from uuid import UUID

from django.db import connection

from haccp.lots.models import LotLink

_TABLE = LotLink._meta.db_table
# SQLite takes this many parameters in any build (SQLITE_MAX_VARIABLE_NUMBER before 3.32 was 999).
_AT_ONCE = 900


def descendants(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Every lot made from these, directly or not; the lots given are left out unless one was made from another."""
    return _reached(lot_ids, start="parent_id", end="child_id")


def ancestors(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Every lot that went into these, directly or not."""
    return _reached(lot_ids, start="child_id", end="parent_id")


def links_from(lot_ids: Collection[UUID]) -> list[tuple[UUID, UUID, float, str]]:
    """Links whose parent is one of these lots: (parent, child, amount, unit), the oldest first."""
    found: list[tuple[UUID, UUID, float, str]] = []
    ids = list(lot_ids)
    for at in range(0, len(ids), _AT_ONCE):
        links = LotLink.objects.filter(parent__in=ids[at : at + _AT_ONCE]).order_by("recorded_at", "pk")
        found += links.values_list("parent_id", "child_id", "amount", "unit")
    return found


def _reached(lot_ids: Iterable[UUID], *, start: str, end: str) -> set[UUID]:
    seeds = list(dict.fromkeys(lot_ids))
    found: set[UUID] = set()
    for at in range(0, len(seeds), _AT_ONCE):
        found |= _reached_from(seeds[at : at + _AT_ONCE], start=start, end=end)
    return found


def _reached_from(seeds: list[UUID], *, start: str, end: str) -> set[UUID]:
    if not seeds:
        return set()
    key = LotLink._meta.get_field("parent").target_field
    marks = ", ".join(["%s"] * len(seeds))
    # Only the names of the model's own table and columns are put into the text.
    statement = (
        f"WITH RECURSIVE reached(lot_id) AS ("  # noqa: S608
        f' SELECT "{end}" FROM "{_TABLE}" WHERE "{start}" IN ({marks})'
        f' UNION SELECT link."{end}" FROM reached JOIN "{_TABLE}" link ON link."{start}" = reached.lot_id'
        ") SELECT lot_id FROM reached"
    )
    with connection.cursor() as cursor:
        cursor.execute(statement, [key.get_db_prep_value(seed, connection) for seed in seeds])
        return {_uuid(row[0]) for row in cursor.fetchall()}


def _uuid(value: object) -> UUID:
    """PostgreSQL gives a UUID, SQLite its 32 hexadecimal digits."""
    return value if isinstance(value, UUID) else UUID(str(value))
