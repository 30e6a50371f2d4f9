"""Breaks the processes themselves: web, workers, beats and Redis as docker-compose.yml starts them, and compares.

    TEST_POSTGRES_URL=postgresql://… uv run python benchmarks/faults_processes.py [--kills 100] [--pictures FOLDER]

  six weeks    a dairy that nobody and nothing looked after for six weeks; then worker and beat are started
  two beats    a second beat by mistake, and a second worker
  killed       both workers are killed (SIGKILL) again and again, while dairies left for a fortnight wait to be swept
  no Redis     Redis is stopped, and comes back empty: what was queued is lost

After each: the set of flags equals the pure function's, none is there twice, every ledger verifies, and each mail was
sent once, or again only where a worker was killed. Redis is one of its own. An outage of an hour and one of a minute
are the same to the service: nothing waits in Redis that is not found again in the database.
"""

import argparse
import email
import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from datetime import time as datetime_time
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[1]))

import psycopg

from tests.processes.stack import Stack, free_port, wait_until
from tests.services import need_postgres, with_database


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


class Redis:
    """One that keeps nothing, on a port of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [
                "/usr/bin/env",
                "redis-server",
                "--port",
                str(self.port),
                "--save",
                "",
                "--bind",
                "127.0.0.1",
                "--dir",
                str(self.folder),
            ],
            stdout=subprocess.DEVNULL,
        )
        while True:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)

    def stop(self) -> None:
        self.process.kill()
        self.process.wait()


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--silence", type=float, default=60, help="seconds without Redis")
    parser.add_argument("--hold", type=float, default=0, help="seconds to keep the site up afterwards, to look at it")
    asked = parser.parse_args()
    server = need_postgres()
    name = f"curdward_faults_{uuid4().hex[:8]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    folder = Path(tempfile.mkdtemp(prefix="faults-"))
    redis = Redis(folder)
    redis.start()
    url = urlunsplit(urlsplit(with_database(server, name))._replace(scheme="postgres"))
    environment = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "DATABASE_URL": url,
        "CELERY_BROKER_URL": f"redis://127.0.0.1:{redis.port}/0",
        "SECRET_KEY": "only for this run, long enough to be taken for a real one",
        "DATA_DIR": str(folder),
        "FILES_DIR": str(folder / "files"),
        "FAULTS_MAILS": str(folder / "mails"),
        "SWEEP_SECONDS": "1",
        "PYTHONPATH": str(Path(__file__).parents[1]),
        "DJANGO_SETTINGS_MODULE": "benchmarks.faults_settings",
    }
    os.environ.update(environment)
    stack = Stack(environment, folder, free_port())
    try:
        Faults(stack, redis, asked).run()
    finally:
        stack.stop()
        redis.stop()
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
        shutil.rmtree(folder, ignore_errors=True)


class Faults:
    def __init__(self, stack: Stack, redis: Redis, asked: argparse.Namespace) -> None:
        self.stack, self.redis, self.asked = stack, redis, asked
        self.dairies: list[object] = []
        self.dead: set[str] = set()
        self.luck = random.Random(1)  # noqa: S311

    def run(self) -> None:
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        self.leave_alone("Weir Farm Dairy", weeks=6)
        self.stack.start("web")
        self.stack.start("worker")
        self.stack.start("beat")
        self.compare("six weeks")

        self.stack.start("worker")
        self.second_beat()
        self.leave_alone("Glen Dairy", weeks=2)
        self.compare("two beats")

        while self.killed < self.asked.kills:
            if self.killed % 20 == 0:
                self.leave_alone(f"Hill{self.killed} Dairy", weeks=2)
            time.sleep(self.luck.uniform(0.5, 4))
            self.kill_workers()
        self.compare(f"killed {self.killed} times")

        self.redis.stop()
        self.leave_alone("Ford Dairy", weeks=2)
        time.sleep(self.asked.silence)
        self.redis.start()
        self.compare(f"{self.asked.silence:.0f} s without Redis")
        self.mails()
        if self.asked.hold:
            say(f"{self.stack.url}, owner@weir.example")
            time.sleep(self.asked.hold)

    def leave_alone(self, name: str, *, weeks: int) -> None:
        """A dairy that began so long ago, of which no sweep knows."""
        from haccp.notices import actions as notices
        from tests.dairy import open_dairy

        began = datetime.now(UTC).replace(minute=0, second=0, microsecond=0) - timedelta(weeks=weeks)
        dairy = open_dairy(name=name, at=began)
        for scope in (dairy.owner, dairy.maker, dairy.helper):  # no quiet hours: mails go at once, whatever the hour
            notices.wishes_set(
                scope=scope, alerts_by_email=True, alerts_by_push=False, digest_by_email=False,
                digest_at=datetime_time(6), quiet_from=None, quiet_until=None, wake_for_critical=False,
            )  # fmt: skip
        self.dairies.append(dairy)

    def second_beat(self) -> None:
        command = "celery -A haccp.config.celery beat -l info -s " + str(self.stack.folder / "second-beat")
        with (self.stack.folder / "second-beat.log").open("ab") as log:
            self.stack.processes["second beat"] = subprocess.Popen(
                ["/bin/bash", "-c", f"exec {command}"],
                cwd=self.stack.environment["PYTHONPATH"],
                env=self.stack.environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def kill_workers(self) -> None:
        """Each worker that has not been killed yet; another one takes its place."""
        for key, process in list(self.stack.processes.items()):
            if not key.startswith("worker") or key in self.dead:
                continue
            if process.poll() is not None:
                raise SystemExit(f"A worker ended by itself: {self.stack.log('worker')[-2000:]}")
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            self.dead.add(key)
            self.stack.start("worker")

    @property
    def killed(self) -> int:
        return len(self.dead)

    def compare(self, what: str) -> None:
        from django.db import connections

        from haccp.checks.models import MissedCheck, SweepRun
        from haccp.ledger.models import Log
        from haccp.ledger.verification import verify_log

        connections.close_all()
        begun = datetime.now(UTC)
        wait_until(
            lambda: SweepRun.objects.filter(finished_at__gte=begun + timedelta(seconds=2)).exists(),
            "a sweep has run",
            self.stack,
            "worker",
        )
        flags = 0
        for dairy in self.dairies:
            premises = dairy.owner.premises  # type: ignore[attr-defined]
            wait_until(lambda: not self.differs(dairy), f"{premises} is flagged", self.stack, "worker")  # noqa: B023
            report = verify_log(Log.objects.get(pk=premises.log_id))
            assert report.holds, report.problem
            flags += MissedCheck.objects.filter(due__premises=premises).count()
        say(f"{what}: {flags} flags at {len(self.dairies)} dairies, as the pure function has them; ledgers verify")

    def differs(self, dairy: object) -> bool:
        from benchmarks.faults_sweep import expected
        from haccp.checks.models import MissedCheck

        now = datetime.now(UTC)
        of_clock = MissedCheck.objects.filter(
            due__premises=dairy.owner.premises,  # type: ignore[attr-defined]
            due__check_due__cadence__kind="clock",
        )
        found = Counter(of_clock.values_list("due__check_due__name", "due__due_at"))
        return found != expected(dairy, now)

    def mails(self) -> None:
        """Each deviation is told to each who is to know, once, or again where a worker was killed."""
        from haccp.notices.models import Alert, Delivery

        # What a killed worker had claimed is taken up ten minutes later.
        deadline = time.monotonic() + 700
        while Delivery.objects.filter(sent_at__isnull=True).exists() and time.monotonic() < deadline:
            time.sleep(2)

        mails: Counter[str] = Counter()
        folder = self.stack.folder / "mails"
        for path in folder.iterdir() if folder.exists() else ():
            for part in path.read_text().split("-" * 79 + "\n"):
                if part.strip():
                    mails[str(email.message_from_string(part)["Message-ID"])] += 1
        sent = Delivery.objects.filter(sent_at__isnull=False).count()
        waiting = Delivery.objects.filter(sent_at__isnull=True).count()
        twice = sum(mails.values()) - len(mails)
        say(f"mails: {sent} deliveries sent, {waiting} waiting, {len(mails)} mails, {twice} a second time")
        assert Alert.objects.count() >= len(self.dairies)
        assert twice <= self.killed
        assert len(mails) == sent > 0


if __name__ == "__main__":
    main()
