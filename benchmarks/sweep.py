"""What a sweep costs, against what a bare bulk insert of the same rows costs, in one run.

    DATABASE_URL=postgres://127.0.0.1:5432/sweep_bench uv run python benchmarks/sweep.py [--premises 10000] [--days 30]

Fills a database of its own (an empty one that must be named) with `premises` dairies of 30 checks a day and `days`
of settled history, then measures:

  nothing due       a sweep with nothing newly due; the promise is under 100 ms, whatever history holds
  newly missed      a sweep that flags one check at each of 10,000 dairies, against bulk_create of the very same rows
                    (missed checks, ledger entries, deviations): first of a prerequisite, then of a critical control
                    point, of which the first opens a deviation that each further one joins; the promise is within
                    3 times
  first page        p95 of the first page of a dairy with `history` days of records against one with 30 days, and the
                    number of queries of each; the promise is within 1.5 times, and equal

The rows of history are made in bulk, straight into the tables: what is measured is reading and flagging.
"""

import argparse
import itertools
import os
import statistics
import sys
import time
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")

import django

django.setup()

from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Model

from haccp.checks.actions import sweep
from haccp.checks.models import DueCheck, MissedCheck, PlanningMark, Reading, Record
from haccp.deviations.models import Deviation, MissedAgain
from haccp.ledger import triggers
from haccp.ledger.models import Entry, Log
from haccp.plan.models import Check
from haccp.premises.models import Premises, Producer
from tests.dairy import OPENED_AT, Dairy, open_dairy

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
CHECKS_A_DAY = 30


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def fill(count: int, days: int) -> tuple[Dairy, list[Premises], Check]:
    """Dairies that share one plan's check (a prerequisite), each with a log and settled history."""
    dairy = open_dairy(at=OPENED_AT)
    check = dairy.check("Vat 1 cleaned")
    producer = Producer.objects.create(name="Benchmark")
    logs = Log.objects.bulk_create(
        [Log(key=f"premises:{uuid.uuid4()}", opened_at=OPENED_AT) for _ in range(count)], batch_size=2000
    )
    premises = Premises.objects.bulk_create(
        [
            Premises(producer=producer, name=f"Dairy {n}", time_zone="Europe/Dublin", jurisdiction="EU", log=log)
            for n, log in enumerate(logs)
        ],
        batch_size=2000,
    )
    PlanningMark.objects.all().delete()
    everybody = [*premises, dairy.owner.premises]
    PlanningMark.objects.bulk_create(
        [PlanningMark(premises=one, planned_until=NOW + timedelta(days=2)) for one in everybody], batch_size=2000
    )
    for day in range(days):
        rows = []
        for one in premises:
            start = NOW - timedelta(days=day + 1)
            rows += [
                DueCheck(
                    premises=one,
                    check_due=check,
                    slot_key=f"{one.pk.hex}|{day}|{n}",
                    opens_at=start + timedelta(minutes=n),
                    due_at=start + timedelta(minutes=n),
                    grace_ends_at=start + timedelta(minutes=n + 30),
                    settled_at=start + timedelta(minutes=n + 10),
                )
                for n in range(CHECKS_A_DAY)
            ]
        DueCheck.objects.bulk_create(rows, batch_size=5000)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return dairy, premises, check


def make_due(premises: list[Premises], check: Check, tag: str) -> None:
    DueCheck.objects.bulk_create(
        [
            DueCheck(
                premises=one,
                check_due=check,
                slot_key=f"{one.pk.hex}|{tag}",
                opens_at=NOW - timedelta(hours=3),
                due_at=NOW - timedelta(hours=2),
                grace_ends_at=NOW - timedelta(hours=1),
            )
            for one in premises
        ],
        batch_size=5000,
    )


def bare_insert(since: datetime) -> tuple[int, float]:
    """The very rows that a sweep added at that moment, inserted again by bulk_create alone: missed checks, entries of
    the ledger, deviations. Returns how many, and seconds. What the sweep updates beside (each due check settled, each
    log's head moved on) is not in it. The rows of the sweep stay; these are taken away again."""
    kinds: list[tuple[type[Model], list[Model]]] = [
        (MissedCheck, list(MissedCheck.objects.filter(flagged_at=since))),
        (Entry, list(Entry.objects.filter(recorded_at=since))),
        (Deviation, list(Deviation.objects.filter(opened_at=since))),
        (MissedAgain, list(MissedAgain.objects.filter(joined_at=since))),
    ]
    count = sum(len(rows) for _, rows in kinds)
    with triggers.lifted(connection):
        for model, rows in reversed(kinds):
            model._default_manager.filter(pk__in=[row.pk for row in rows]).delete()
    for _, rows in kinds:
        for row in rows:
            row._state.adding = True
            if isinstance(row, Entry):
                row.pk = None

    def insert() -> None:
        with transaction.atomic():
            for model, rows in kinds:
                model._default_manager.bulk_create(rows, batch_size=500)

    return count, timed(insert)


def _moment() -> datetime:
    """A moment of its own for each sweep, by which its rows are told."""
    return NOW + timedelta(seconds=next(_seconds))


_seconds = itertools.count(1)


def newly_missed(premises: list[Premises], check: Check, rounds: int) -> None:
    """Sweep and bare insert in turns, so that the state of the machine weighs on both alike."""
    found = []
    for number in range(rounds):
        now = _moment()
        make_due(premises, check, f"{check.pk}|{number}")
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")
        took = timed(lambda now=now: sweep(now=now))
        flagged = MissedCheck.objects.filter(flagged_at=now).count()
        count, bare = bare_insert(now)
        found.append(took / bare)
        say(
            f"newly missed, {check.control_point.code}: {flagged} flagged in {took:.2f} s; bare insert of the same"
            f" {count} rows {bare:.2f} s; ratio {took / bare:.2f}"
        )
    say(f"newly missed, {check.control_point.code}: median ratio {statistics.median(found):.2f}")


def history_of(dairy: Dairy, days: int) -> None:
    """Records of three checks a day, with a reading each, up to NOW."""
    checks = [dairy.check(name) for name in ("Room 1 temperature", "Vat 1 cleaned")]
    measures = {check.pk: check.measures.all()[0] for check in checks}
    records, readings = [], []
    for day in range(days):
        for n in range(CHECKS_A_DAY):
            check = checks[n % 2]
            at = NOW - timedelta(days=day, minutes=20 * n)
            record = Record(
                premises=dairy.owner.premises,
                check_done=check,
                revision=dairy.revision,
                place=check.place,
                observed_at=at,
                recorded_at=at,
                recorded_by=dairy.maker.user,
            )
            records.append(record)
            readings.append(Reading(record=record, measure=measures[check.pk], value_si=11.0, typed_text="11"))
    Record.objects.bulk_create(records, batch_size=2000)
    Reading.objects.bulk_create(readings, batch_size=2000)


def first_page(dairy: Dairy, tries: int) -> tuple[float, int]:
    """p95 in seconds and the number of queries, at NOW."""
    import time_machine
    from django.test import Client

    browser = Client(headers={"host": "localhost"})
    browser.force_login(dairy.owner.user)
    queries = 0

    def count(execute: Callable[..., object], *rest: object) -> object:
        nonlocal queries
        queries += 1
        return execute(*rest)

    with time_machine.travel(NOW, tick=False):
        with connection.execute_wrapper(count):
            assert browser.get("/today/").status_code == 200
        taken = []
        for _ in range(tries):
            start = time.monotonic_ns()  # time_machine stops the other clocks
            browser.get("/today/")
            taken.append((time.monotonic_ns() - start) / 1e9)
    return statistics.quantiles(taken, n=20)[18], queries


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--premises", type=int, default=10_000)
    parser.add_argument("--days", type=int, default=3, help="days of settled checks at each dairy")
    parser.add_argument("--history", type=int, default=3650, help="days of records at the old dairy of the first page")
    parser.add_argument("--rounds", type=int, default=5, help="sweeps with newly missed checks, of each kind")
    parser.add_argument("--tries", type=int, default=60)
    parser.add_argument("--only-page", action="store_true")
    asked = parser.parse_args()
    call_command("migrate", verbosity=0)
    if Premises.objects.exists():
        sys.exit("The database is not empty: name one of its own in DATABASE_URL, and drop it afterwards.")
    say(f"{connection.vendor}, {asked.premises} dairies, {asked.days} days of {CHECKS_A_DAY} checks each")
    if not asked.only_page:
        dairy, premises, check = fill(asked.premises, asked.days)
        say(f"rows of due checks: {DueCheck.objects.count()}")
        # Once, as at dairies that have missed a check before: the name of who flags is put into each log then.
        make_due(premises, check, "first")
        sweep(now=NOW)
        nothing = [timed(lambda: sweep(now=NOW)) for _ in range(9)]
        say(f"nothing due: median {statistics.median(nothing) * 1000:.1f} ms, worst {max(nothing) * 1000:.1f} ms")
        newly_missed(premises, check, asked.rounds)
        newly_missed(premises, dairy.check("Room 1 temperature"), asked.rounds)
    young, old = open_dairy(name="Young Dairy"), open_dairy(name="Old Dairy")
    history_of(young, 30)
    history_of(old, asked.history)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    for dairy in (young, old):
        PlanningMark.objects.filter(premises=dairy.owner.premises).delete()
        DueCheck.objects.filter(premises=dairy.owner.premises).delete()
        PlanningMark.objects.create(premises=dairy.owner.premises, planned_until=NOW - timedelta(hours=6))
    sweep(now=NOW - timedelta(hours=6))
    # In turns, so that the state of the machine weighs on both alike.
    found = [(first_page(young, asked.tries), first_page(old, asked.tries)) for _ in range(3)]
    (p_young, q_young), (p_old, q_old) = (min(one[side] for one in found) for side in (0, 1))
    say(
        f"first page: p95 {p_young * 1000:.1f} ms with 30 days, {p_old * 1000:.1f} ms with {asked.history} days; "
        f"ratio {p_old / p_young:.2f}; queries {q_young} and {q_old}"
    )


if __name__ == "__main__":
    main()
