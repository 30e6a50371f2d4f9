"""What sealing costs beside the same insert without it, and what verifying costs beside bare hashing.

    uv run python benchmarks/ledger.py [--writers 20] [--each 40] [--entries 1000000]

On a PostgreSQL of its own. Sealing: writers of as many dairies save temperatures through the action that people use, in
processes of their own; the same again with the ledger's appending left out, in turns, and the ratio of the medians.
Verifying: so many entries in one log, read and checked by the ledger's own verification (every leaf written and hashed
anew, every subtree stored, the root), in one process and in as many as there are processors, against SHA-256 over the
same leaves and as many inner nodes in one process, and nothing else. Comparing rows with what was sealed of them is a
second pass, and its speed is said apart. Memory: the largest resident size of the processes that verify.
"""

import argparse
import hashlib
import os
import resource
import statistics
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[1]))


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def timed_writers(dairies: list[object], each: int, *, sealed: bool) -> float:
    """Seconds until every writer has saved its records."""
    from django.db import connections

    from tests.dairy import OPENED_AT

    connections.close_all()
    begun, pids = time.perf_counter(), []
    for number, dairy in enumerate(dairies):
        pid = os.fork()
        if pid:
            pids.append(pid)
            continue
        try:
            if not sealed:
                without_sealing()
            for one in range(each):
                at = OPENED_AT + timedelta(days=1 + number, minutes=one)
                dairy.save("Room 1 temperature", "11.0", at=at, instrument_id=dairy.thermometer.id)  # type: ignore[attr-defined]
        except BaseException as error:
            sys.stderr.write(f"{error!r}\n")
            os._exit(1)
        os._exit(0)
    failed = [pid for pid in pids if os.waitpid(pid, 0)[1]]
    if failed:
        raise SystemExit(f"{len(failed)} writers failed.")
    return time.perf_counter() - begun


def without_sealing() -> None:
    """The insert alone: the same action, whose entries are not made."""
    from haccp.ledger import actions

    actions.seal_across = lambda sealings, *, actor, at: {log: [None] for log in sealings}  # type: ignore[assignment,misc]


def sealing(writers: int, each: int, rounds: int) -> None:
    from tests.dairy import open_dairy

    dairies: list[object] = [open_dairy(name=f"Dairy{number} of the hill") for number in range(writers)]
    timed_writers(dairies, 3, sealed=True)
    times: dict[bool, list[float]] = {True: [], False: []}
    for turn in range(rounds):
        for sealed in ((True, False), (False, True))[turn % 2]:
            times[sealed].append(timed_writers(dairies, each, sealed=sealed))
    with_it, without = statistics.median(times[True]), statistics.median(times[False])
    count = writers * each
    say(f"{writers} writers, {each} records each, {rounds} turns: sealed {1000 * with_it / count:.2f} ms, without "
        f"{1000 * without / count:.2f} ms a record: ratio {with_it / without:.2f} (at most 1.25)")  # fmt: skip


def fill(entries: int) -> object:
    from django.db import transaction

    from haccp.ledger import actions
    from haccp.ledger.actions import Sealing
    from tests.dairy import OPENED_AT

    log = actions.open_log(key="a-long-one", at=OPENED_AT)
    for first in range(0, entries, 5000):
        facts = [
            Sealing(
                "reading", f"reading:{uuid4()}", {"number": number, "value": 11.25, "note": "top shelf, by the door"}
            )
            for number in range(first, min(first + 5000, entries))
        ]
        with transaction.atomic():
            actions.seal_many(log_id=log.pk, sealings=facts, actor="7 Ana Ruiz", at=OPENED_AT)
    return log


def verifying(entries: int, processes: int) -> None:
    from django.db import connections

    from haccp.ledger.models import Log
    from haccp.ledger.verification import verify_log

    begun = time.perf_counter()
    fill(entries)
    say(f"{entries} entries sealed in {time.perf_counter() - begun:.0f} s")
    log = Log.objects.get(key="a-long-one")
    leaves = some_leaves(log)
    for at_once in sorted({1, processes}):
        # Beside one another, as often as each other, so that what else the machine does weighs on both alike.
        bare, took = [], []
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        for _ in range(TURNS):
            bare.append(timed(lambda: bare_hashing(entries, leaves)))
            begun = time.perf_counter()
            report = verify_log(log, kinds={}, processes=at_once)
            took.append(time.perf_counter() - begun)
            if not report.holds:
                raise SystemExit(report.problem)
            connections.close_all()
        own = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
        child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        one, other = statistics.median(bare), statistics.median(took)
        say(f"entries verified by {at_once}: {other:.1f} s ({entries / other:.0f}/s); bare SHA-256 of the same leaves "
            f"and as many nodes by one {one:.1f} s: {one / other:.2f} (at least 0.5); {own:.0f} MB more than before, "
            f"the largest process {child:.0f} MB")  # fmt: skip


TURNS = 3


def comparing_rows(records: int) -> None:
    """The second pass: what each entry sealed against what its row says today, in a dairy of so many records."""
    from haccp.ledger.models import Log
    from haccp.ledger.verification import verify_log
    from tests.dairy import OPENED_AT, open_dairy

    dairy = open_dairy(name="Rows of the hill")
    for one in range(records):
        at = OPENED_AT + timedelta(days=1, minutes=one)
        dairy.save("Room 1 temperature", "11.0", at=at, instrument_id=dairy.thermometer.id)
    log = Log.objects.get(pk=dairy.owner.premises.log_id)
    entries_alone = timed(lambda: verify_log(log, rows=False))
    begun = time.perf_counter()
    report = verify_log(log)
    if not report.holds:
        raise SystemExit(report.problem)
    took = time.perf_counter() - begun - entries_alone
    say(f"{report.rows} rows compared with what was sealed of them in {took:.2f} s ({report.rows / took:.0f}/s), "
        "beside the entries")  # fmt: skip


def some_leaves(log: object) -> list[bytes]:
    """The very bytes that were hashed of the first entries."""
    from haccp.ledger import canonical
    from haccp.ledger.models import Entry

    return [
        b"\x00"
        + canonical.dumps(
            {
                "actor": one.actor,
                "body": one.body,
                "index": one.index,
                "kind": one.kind,
                "log": log.key,  # type: ignore[attr-defined]
                "recorded_at": one.recorded_at,
                "subject": one.subject,
            }
        )
        for one in Entry.objects.filter(log=log).order_by("index")[:8192]
    ]


def timed(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def bare_hashing(entries: int, leaves: list[bytes]) -> None:
    left = right = b"y" * 32
    for place in range(entries):
        hashlib.sha256(leaves[place % len(leaves)]).digest()
        hashlib.sha256(b"\x01" + left + right).digest()


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--writers", type=int, default=20)
    parser.add_argument("--each", type=int, default=40)
    parser.add_argument("--turns", type=int, default=5)
    parser.add_argument("--entries", type=int, default=1_000_000)
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    from benchmarks.faults_sweep import server

    with server() as found:
        os.environ |= {
            "DATABASE_URL": f"postgres://postgres@127.0.0.1:{found.port}/postgres",
            "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
            "SECRET_KEY": "only for this benchmark",
        }
        import django
        from django.core.management import call_command
        from django.db import connections

        django.setup()
        call_command("migrate", verbosity=0)
        try:
            if asked.writers:
                sealing(asked.writers, asked.each, asked.turns)
                comparing_rows(20 * asked.each)
            if asked.entries:
                verifying(asked.entries, asked.processes)
        finally:
            connections.close_all()


if __name__ == "__main__":
    main()
