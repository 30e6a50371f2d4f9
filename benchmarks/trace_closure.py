"""How long the trace of a lot takes: `DATABASE_URL=postgres://… uv run python -m benchmarks.trace_closure`.

On PostgreSQL 1,000,000 lots and 3,000,000 links; on SQLite one dairy's size, 20,000 lots and 60,000 links (LOTS and
LINKS in the environment say otherwise). The forward closure of a milk lot that reaches 1,000 lots is to take under
200 ms, and at most twice as long as the bare recursive SQL that returns the same set; and as long with ten times the
lots stored, since it costs what is reached. A database of its own is made and thrown away.
"""

import hashlib
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any
from uuid import UUID

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")
django.setup()

from django.db import connection
from django.test.utils import get_runner, setup_test_environment

from haccp.ledger import triggers
from haccp.lots import closure
from haccp.lots.models import LotLink
from tests.dairy import open_dairy

MOST_S, MOST_RATIO = 0.200, 2.0
REACHED = 1000
RUNS = 15
FAMILY = REACHED + 1  # lots of one trace: the milk lot and what it reaches; traces do not touch each other


def sizes() -> tuple[int, int]:
    default = (1_000_000, 3_000_000) if connection.vendor == "postgresql" else (20_000, 60_000)
    return int(os.environ.get("LOTS", default[0])), int(os.environ.get("LINKS", default[1]))


def lot_id(name: object) -> UUID:
    """Scattered as the ids of a client are, and the same in every run and in SQL: md5 of the number."""
    return UUID(hashlib.md5(str(name).encode(), usedforsecurity=False).hexdigest())


def parents(number: int, extra: int) -> Iterator[int]:
    """Lots that one was made from: each after the first of its family has one before it, and `extra` more."""
    first = number - number % FAMILY
    place = number - first
    if place:
        yield first + (place - 1) // 3
        yield from (first + place * more // (extra + 2) for more in range(1, extra + 1) if place > more)


def fill(lots: int, links: int) -> None:
    dairy = open_dairy()
    premises, revision, user = dairy.owner.premises.pk, dairy.revision.pk, dairy.maker.user.pk
    extra = max(1, round(links / lots)) - 1
    with triggers.lifted(connection), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            _fill_postgresql(cursor, lots, extra, premises, revision, user)
        else:
            _fill_sqlite(cursor, lots, extra, premises, revision, user)
        cursor.execute("ANALYZE")


def _fill_postgresql(cursor: Any, lots: int, extra: int, premises: UUID, revision: UUID, user: UUID) -> None:
    """By the server itself; references are right by construction and are not looked up one by one."""
    cursor.execute("SET session_replication_role = replica")
    cursor.execute("SET synchronous_commit = off")
    # Built once at the end, in order, an index costs a fraction of what it costs row by row.
    cursor.execute(
        "SELECT indexname, indexdef FROM pg_indexes WHERE tablename IN ('lots_lot', 'lots_lotlink') "
        "AND indexname NOT IN (SELECT conname FROM pg_constraint)"
    )
    indexes = cursor.fetchall()
    for name, _ in indexes:
        cursor.execute(f'DROP INDEX "{name}"')
    cursor.execute(
        "INSERT INTO lots_lot (id, premises_id, kind, code, revision_id, begun_at, recorded_at, recorded_by_id) "
        "SELECT md5(n::text)::uuid, %s, 'milk', 'L' || n, %s, now(), now(), %s FROM generate_series(0, %s) n",
        [premises, revision, user, lots - 1],
    )
    cursor.execute(
        "INSERT INTO lots_lotlink (id, parent_id, child_id, amount, unit, recorded_at) "
        "SELECT md5('link ' || n || ' ' || more)::uuid, md5(parent::text)::uuid, md5(n::text)::uuid, 1, 'L', now() "
        "FROM (SELECT n, more, n - place + CASE more WHEN 0 THEN (place - 1) / 3 ELSE place * more / %s END AS parent "
        "      FROM (SELECT n, n %% %s AS place FROM generate_series(0, %s) n) numbered, generate_series(0, %s) more "
        "      WHERE place > more) pairs",
        [extra + 2, FAMILY, lots - 1, extra],
    )
    for _, definition in indexes:
        cursor.execute(definition)
    cursor.execute("SET session_replication_role = DEFAULT")


def _fill_sqlite(cursor: Any, lots: int, extra: int, premises: UUID, revision: UUID, user: UUID) -> None:
    now = "2026-03-10 06:00:00"
    cursor.cursor.executemany(
        "INSERT INTO lots_lot (id, premises_id, kind, code, revision_id, begun_at, recorded_at, recorded_by_id) "
        "VALUES (?, ?, 'milk', ?, ?, ?, ?, ?)",
        ((lot_id(n).hex, premises.hex, f"L{n}", revision.hex, now, now, user.hex) for n in range(lots)),
    )
    cursor.cursor.executemany(
        "INSERT INTO lots_lotlink (id, parent_id, child_id, amount, unit, recorded_at) VALUES (?, ?, ?, 1, 'L', ?)",
        (
            (lot_id(f"link {n} {more}").hex, lot_id(parent).hex, lot_id(n).hex, now)
            for n in range(lots)
            for more, parent in enumerate(parents(n, extra))
        ),
    )


def bare(seed: UUID) -> set[object]:
    """The same set by nothing but SQL."""
    table = LotLink._meta.db_table
    value = seed if connection.vendor == "postgresql" else seed.hex
    with connection.cursor() as cursor:
        cursor.execute(
            f"WITH RECURSIVE r(id) AS (SELECT child_id FROM {table} WHERE parent_id = %s "  # noqa: S608
            f"UNION SELECT l.child_id FROM r JOIN {table} l ON l.parent_id = r.id) SELECT id FROM r",
            [value],
        )
        return {row[0] for row in cursor.fetchall()}


def median(act: Callable[[UUID], object], seeds: list[UUID]) -> float:
    taken = []
    for seed in seeds:
        start = time.perf_counter()
        act(seed)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> int:
    lots, links = sizes()
    setup_test_environment()
    runner = get_runner(django.conf.settings)(verbosity=0, interactive=False)
    old = runner.setup_databases()
    try:
        start = time.perf_counter()
        fill(lots, links)
        stored = LotLink.objects.count()
        print(f"{connection.vendor}: {lots:,} lots, {stored:,} links, filled in {time.perf_counter() - start:.0f} s")  # noqa: T201
        families = lots // FAMILY
        seeds = [lot_id(FAMILY * (n * families // RUNS)) for n in range(RUNS)]
        reached = {len(closure.descendants([seed])) for seed in seeds}
        ours, plain = median(lambda seed: closure.descendants([seed]), seeds), median(bare, seeds)
        print(f"reached {min(reached):,} to {max(reached):,} lots: {ours * 1e3:.1f} ms, bare SQL {plain * 1e3:.1f} ms")  # noqa: T201
    finally:
        runner.teardown_databases(old)
    good = ours < MOST_S and ours <= MOST_RATIO * plain and reached == {REACHED}
    print("good" if good else "TOO SLOW OR WRONG")  # noqa: T201
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
