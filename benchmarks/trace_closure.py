"""How long the trace of a lot takes: `DATABASE_URL=postgres://… uv run python -m benchmarks.trace_closure`.

On PostgreSQL 1,000,000 lots and 3,000,000 links; on SQLite one dairy's size, 20,000 lots and 60,000 links (LOTS and
LINKS in the environment say otherwise). The forward closure of a milk lot that reaches 1,000 lots is to take under
200 ms, and at most twice as long as the bare recursive SQL that returns the same set; and as long with ten times the
lots stored, since it costs what is reached. A database of its own is made and thrown away.
"""

import itertools
import os
import statistics
import sys
import time
from collections.abc import Callable
from uuid import UUID

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")
django.setup()

from django.db import connection
from django.test.utils import get_runner, setup_test_environment

from haccp.ledger import triggers
from haccp.lots import closure
from haccp.lots.models import Lot, LotLink
from tests.dairy import open_dairy

MOST_S, MOST_RATIO = 0.200, 2.0
REACHED = 1000
RUNS = 15
FAMILY = REACHED + 1  # lots of one trace: the milk lot and what it reaches; traces do not touch each other


def sizes() -> tuple[int, int]:
    default = (1_000_000, 3_000_000) if connection.vendor == "postgresql" else (20_000, 60_000)
    return int(os.environ.get("LOTS", default[0])), int(os.environ.get("LINKS", default[1]))


def lot_id(number: int) -> UUID:
    """Scattered as the ids of a client are, and the same in every run."""
    return UUID(int=(number * 0x9E3779B97F4A7C15F39CC0605CEDC835) % 2**128)


def fill(lots: int, links: int) -> None:
    """Families of 1,001 lots: each lot after the first has a link from one before it, and the rest are spread."""
    dairy = open_dairy()
    premises, revision, user = dairy.owner.premises.pk, dairy.revision.pk, dairy.maker.user.pk
    a_year = "2026-03-10 06:00:00+00"
    extra = max(1, round(links / lots)) - 1
    with triggers.lifted(connection), connection.cursor() as cursor:
        counter = itertools.count()
        rows, joined = [], []
        for number in range(lots):
            rows.append((lot_id(number), premises, "milk", f"L{number}", None, revision, a_year, a_year, user))
            first = number - number % FAMILY
            if number > first:
                joined.append((number, first + (number - first - 1) // 3))
                for more in range(1, extra + 1):
                    if number - first > more:
                        joined.append((number, first + (number - first) * more // (extra + 2)))
            if len(rows) == 5000 or number == lots - 1:
                _insert(cursor, Lot._meta.db_table, _LOT, rows)
                _insert(
                    cursor,
                    LotLink._meta.db_table,
                    _LINK,
                    [
                        (lot_id(10**12 + next(counter)), lot_id(parent), lot_id(child), 1.0, "L", a_year)
                        for child, parent in joined
                        if parent != child
                    ],
                )
                rows, joined = [], []
        cursor.execute("ANALYZE")


_LOT = ("id", "premises_id", "kind", "code", "product_id", "revision_id", "begun_at", "recorded_at", "recorded_by_id")
_LINK = ("id", "parent_id", "child_id", "amount", "unit", "recorded_at")


def _insert(cursor: object, table: str, columns: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
    names = ", ".join(f'"{name}"' for name in columns)
    if connection.vendor == "postgresql":
        with cursor.cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:  # type: ignore[attr-defined]
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join(["?"] * len(columns))
    plain = [tuple(value.hex if isinstance(value, UUID) else value for value in row) for row in rows]
    cursor.cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", plain)  # type: ignore[attr-defined]  # noqa: S608


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
