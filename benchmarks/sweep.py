"""What a sweep costs, against what a bare bulk insert of the same rows costs, in one run.

    DATABASE_URL=postgres://127.0.0.1:5432/sweep_bench uv run python benchmarks/sweep.py [--premises 10000] [--days 30]

Fills a database of its own (an empty one that must be named) with `premises` dairies of 30 checks a day and `days`
of settled history, then measures:

  nothing due       a sweep with nothing newly due; the promise is under 100 ms, whatever history holds
  newly missed      a sweep that flags one check at each of 10,000 dairies, against bulk_create of the very same rows
                    (missed checks and ledger entries); the promise is within 3 times
  first page        p95 of the first page of a dairy with `history` days of records against one with 30 days, and the
                    number of queries of each; the promise is within 1.5 times, and equal

The rows of history are made in bulk, straight into the tables: what is measured is reading and flagging.
"""

import argparse
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
from django.test.utils import CaptureQueriesContext

from haccp.checks.actions import sweep
from haccp.checks.models import DueCheck, MissedCheck, PlanningMark, Reading, Record
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


def bare_insert() -> float:
    """The very rows that a sweep made, inserted again by bulk_create alone; undone afterwards."""
    missed, entries = list(MissedCheck.objects.all()), list(Entry.objects.filter(kind="check.missed"))
    with triggers.lifted(connection):
        MissedCheck.objects.all().delete()
        Entry.objects.filter(kind="check.missed").delete()
    for entry in entries:
        entry._state.adding = True
        entry.pk = None

    def insert() -> None:
        with transaction.atomic():
            MissedCheck.objects.bulk_create(missed, batch_size=500)
            Entry.objects.bulk_create(entries, batch_size=500)

    return timed(insert)


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
    with time_machine.travel(NOW, tick=False):
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert browser.get("/today/").status_code == 200
        taken = []
        for _ in range(tries):
            start = time.clock_gettime(time.CLOCK_PROCESS_CPUTIME_ID), time.monotonic_ns()
            browser.get("/today/")
            taken.append((time.monotonic_ns() - start[1]) / 1e9)
    return statistics.quantiles(taken, n=20)[18], len(captured)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--premises", type=int, default=10_000)
    parser.add_argument("--days", type=int, default=3, help="days of settled checks at each dairy")
    parser.add_argument("--history", type=int, default=3650, help="days of records at the old dairy of the first page")
    parser.add_argument("--tries", type=int, default=60)
    parser.add_argument("--only-page", action="store_true")
    asked = parser.parse_args()
    call_command("migrate", verbosity=0)
    if Premises.objects.exists():
        sys.exit("The database is not empty: name one of its own in DATABASE_URL, and drop it afterwards.")
    say(f"{connection.vendor}, {asked.premises} dairies, {asked.days} days of {CHECKS_A_DAY} checks each")
    if not asked.only_page:
        _, premises, check = fill(asked.premises, asked.days)
        say(f"rows of due checks: {DueCheck.objects.count()}")
        sweep(now=NOW)
        nothing = [timed(lambda: sweep(now=NOW)) for _ in range(9)]
        say(f"nothing due: median {statistics.median(nothing) * 1000:.1f} ms, worst {max(nothing) * 1000:.1f} ms")
        make_due(premises, check, "now")
        took = timed(lambda: sweep(now=NOW))
        flagged = MissedCheck.objects.filter(due__slot_key__endswith="|now").count()
        bare = bare_insert()
        say(f"newly missed: {flagged} flagged in {took:.2f} s; bare insert {bare:.2f} s; ratio {took / bare:.2f}")
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
