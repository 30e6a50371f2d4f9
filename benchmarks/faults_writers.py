"""Kills web, worker and PostgreSQL while people record, and looks afterwards at what was promised.

    TEST_REDIS_URL=redis://127.0.0.1:6379/5 uv run python benchmarks/faults_writers.py [--kills 200] [--writers 20]

On a PostgreSQL of its own: gunicorn as docker-compose.yml starts it, a Celery worker with its beat, and writers that
send records through the API, one in eight of them nonsense. Where an answer is lost, half of the writers send the same
record again, as a device does; the others never learn. At random moments, one of these gets SIGKILL: a web process, the
whole web server, the worker, one backend of PostgreSQL (which then restarts all of them), or the database is stopped
the hard way. Then: every record that was acknowledged is there once with its entry, none that was refused is there,
none that nobody sent, and every ledger verifies, row by row.
"""

import argparse
import http.client
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[1]))
from benchmarks.faults_sweep import Server, say, server

ROOT = Path(__file__).parents[1]


@dataclass
class Sent:
    """What the writers know: ids acknowledged, refused, and sent without ever hearing of them again."""

    acknowledged: set[str] = field(default_factory=set)
    refused: set[str] = field(default_factory=set)
    unheard: set[str] = field(default_factory=set)
    answers: Counter[int] = field(default_factory=Counter)
    lock: threading.Lock = field(default_factory=threading.Lock)


@dataclass
class Processes:
    """The web server and the worker, started again when they are found dead."""

    port: int
    folder: Path
    running: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    def up(self, name: str) -> None:
        there = self.running.get(name)
        if there is not None and there.poll() is None:
            return
        commands = {
            "web": f"gunicorn haccp.config.wsgi:application --bind 127.0.0.1:{self.port} --workers 2 --threads 4 "
            "--no-control-socket",
            "worker": f"celery -A haccp.config.celery worker -B -c 1 -s {self.folder / uuid4().hex} -l error",
        }
        log = (self.folder / f"{name}.log").open("ab")
        self.running[name] = subprocess.Popen(
            [sys.executable, "-m", *commands[name].split()], cwd=ROOT, stdout=log, stderr=log, start_new_session=True
        )

    def kill_all(self, name: str) -> bool:
        process = self.running[name]
        if process.poll() is not None:
            return False
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        return True

    def kill_child(self, name: str, luck: random.Random) -> bool:
        pid = self.running[name].pid
        path = Path(f"/proc/{pid}/task/{pid}/children")
        children = path.read_text().split() if path.exists() else []
        if not children:
            return False
        os.kill(int(luck.choice(children)), signal.SIGKILL)
        return True


def post(port: int, token: str, body: dict[str, Any]) -> int:
    """The status of the answer; 0 where none came."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        headers = {"Authorization": f"Token {token}", "Content-Type": "application/json"}
        connection.request("POST", "/api/v1/records/", json.dumps(body), headers)
        answer = connection.getresponse()
        answer.read()
        return answer.status
    except (OSError, http.client.HTTPException):
        return 0
    finally:
        connection.close()


def write(
    port: int, token: str, template: dict[str, Any], sent: Sent, stop: threading.Event, luck: random.Random
) -> None:
    while not stop.is_set():
        text = "warm" if luck.random() < 0.125 else luck.choice(["10.5", "11.0", "12.0"])
        observed = datetime.now(UTC) - timedelta(minutes=luck.randrange(1, 600))
        entries = [template["entries"][0] | {"text": text}]
        body = template | {"id": str(uuid4()), "entries": entries, "observed_at": observed.isoformat()}
        tries = luck.choice([1, 60])
        for _ in range(tries):
            status = post(port, token, body)
            with sent.lock:
                sent.answers[status] += 1
            if status in (200, 201) or 400 <= status < 500 or stop.is_set():
                break
            time.sleep(0.2)
        with sent.lock:
            heard = sent.acknowledged if status in (200, 201) else sent.refused if 400 <= status < 500 else sent.unheard
            heard.add(body["id"])


def backend_killed(found: Server, luck: random.Random) -> bool:
    """One process of the cluster that serves a client; its postmaster is this server's own."""
    pids = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = path.read_bytes().decode(errors="replace")
            parent = int((path.parent / "stat").read_text().rsplit(")", 1)[1].split()[1])
        except (OSError, ValueError):
            continue
        if parent == found_postmaster(found) and "127.0.0.1" in words:
            pids.append(int(path.parent.name))
    if not pids:
        return False
    os.kill(luck.choice(pids), signal.SIGKILL)
    return True


def found_postmaster(found: Server) -> int:
    try:
        return int((found.data / "postmaster.pid").read_text().split()[0])
    except (OSError, IndexError, ValueError):
        return -1


MOST_QUIET_S = 20.0


def recording_goes_on(processes: Processes, sent: Sent, more: int) -> None:
    """Waits until so many more were acknowledged, or what is killed again is killed while it starts, not at work."""
    goal, begun = len(sent.acknowledged) + more, time.monotonic()
    while len(sent.acknowledged) < goal and time.monotonic() - begun < MOST_QUIET_S:
        for name in ("web", "worker"):
            processes.up(name)
        time.sleep(0.05)


def kill_at_random(found: Server, processes: Processes, sent: Sent, kills: int, luck: random.Random) -> Counter[str]:
    done: Counter[str] = Counter()
    while sum(done.values()) < kills:
        recording_goes_on(processes, sent, luck.randrange(1, 12))
        time.sleep(luck.uniform(0.0, 0.2))
        what = luck.choice(["web process", "web process", "web server", "worker", "backend", "backend", "database"])
        if what == "web process":
            hit = processes.kill_child("web", luck)
        elif what == "web server":
            hit = luck.random() < 0.5 and processes.kill_all("web")
        elif what == "worker":
            hit = luck.random() < 0.5 and processes.kill_all("worker")
        elif what == "backend":
            hit = backend_killed(found, luck)
        else:
            hit = luck.random() < 0.3
            if hit:
                found.stop("immediate")
                found.start()
        done[what] += int(hit)
    return done


def opened(writers: int) -> list[tuple[str, dict[str, Any]]]:
    """Four dairies; a device's token and the body of a record for each writer."""
    from haccp.premises.actions import device_add
    from tests.api.device import room_body
    from tests.dairy import open_dairy

    dairies = [open_dairy(name=f"Dairy{number} of the hill") for number in range(4)]
    found = []
    for number in range(writers):
        dairy = dairies[number % 4]
        scope = (dairy.owner, dairy.maker, dairy.helper)[number % 3]
        _, token = device_add(scope=scope, name=f"tablet {number}")
        found.append((token, room_body(dairy, "11.0", at=datetime.now(UTC))))
    return found


def compare(sent: Sent) -> list[str]:
    from haccp.checks.models import Record
    from haccp.ledger.models import Entry, Log
    from haccp.ledger.verification import verify_log

    there = Counter(str(pk) for pk in Record.objects.values_list("pk", flat=True))
    sealed = Counter(Entry.objects.filter(kind="record.saved").values_list("subject", flat=True))
    wrong = [f"{one} was acknowledged and is there {there[one]} times" for one in sent.acknowledged if there[one] != 1]
    wrong += [f"{one} has {sealed[f'record:{one}']} entries" for one in there if sealed[f"record:{one}"] != 1]
    wrong += [f"{one} was refused and is there" for one in sent.refused if there[one]]
    wrong += [f"{one} was sent by nobody" for one in set(there) - sent.acknowledged - sent.unheard]
    for log in Log.objects.order_by("key"):
        report = verify_log(log)
        if not report.holds:
            wrong.append(report.problem)
    late = sum(there[one] for one in sent.unheard)
    say(f"{len(sent.acknowledged)} acknowledged, {len(sent.refused)} refused, {len(sent.unheard)} never heard of")
    say(f"{late} of the last are there; {sum(there.values())} records, {len(sealed)} entries")
    say(f"answers: {dict(sorted(sent.answers.items()))}")
    if not sent.acknowledged or not sent.refused:
        wrong.append("nothing was acknowledged or nothing refused: this shows nothing")
    return wrong


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--writers", type=int, default=20)
    parser.add_argument("--port", type=int, default=8107)
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    luck, folder = random.Random(asked.seed), Path(tempfile.mkdtemp(prefix="faults-"))  # noqa: S311
    with server() as found:
        os.environ |= {
            "DATABASE_URL": f"postgres://postgres@127.0.0.1:{found.port}/postgres",
            "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
            "SECRET_KEY": "only for this",
            "DATA_DIR": str(folder),
            "REDIS_URL": os.environ["TEST_REDIS_URL"],
            "CELERY_BROKER_URL": os.environ["TEST_REDIS_URL"],
            "SWEEP_SECONDS": "3",
        }
        import django
        from django.core.management import call_command
        from django.db import connections

        django.setup()
        call_command("migrate", verbosity=0)
        devices = opened(asked.writers)
        connections.close_all()
        processes, sent, stop = Processes(asked.port, folder), Sent(), threading.Event()
        processes.up("web")
        processes.up("worker")
        time.sleep(4)
        writers = [
            threading.Thread(
                target=write,
                args=(asked.port, token, body, sent, stop, random.Random(luck.random())),  # noqa: S311
            )
            for token, body in devices
        ]
        for writer in writers:
            writer.start()
        begun = time.monotonic()
        try:
            done = kill_at_random(found, processes, sent, asked.kills, luck)
        finally:
            stop.set()
            for writer in writers:
                writer.join()
            for name in ("web", "worker"):
                processes.kill_all(name)
        say(f"{sum(done.values())} killed in {time.monotonic() - begun:.0f} s: {dict(done)}")
        time.sleep(2)
        wrong = compare(sent)
        connections.close_all()
    shutil.rmtree(folder, ignore_errors=True)
    for one in wrong[:20]:
        say(f"WRONG: {one}")
    say("All as promised." if not wrong else f"{len(wrong)} things are wrong.")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
