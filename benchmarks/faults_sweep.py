"""Breaks things while checks are swept and people are told, and compares with the pure function afterwards.

    uv run python benchmarks/faults_sweep.py [--kills 100] [--weeks 2]

On a PostgreSQL of its own (initdb in a temporary folder, a free port; as root it is run by the user postgres):

  killed       a sweep is killed (SIGKILL) at a random moment, again and again, with a second one beside it all the
               time, as two beats would run
  restarted    the database is stopped the hard way during a sweep, and started again
  set back     sweeps with a clock that is an hour behind
  telling      alerts are raised and delivered by two processes at once that are killed again and again, while something
               is breached every few minutes; e-mails are files

Then: the set of flags equals the pure function's, none is there twice, the ledger verifies, everybody was told of each
breach at each level, and no more second mails were sent than processes were killed (the promise is at least once).
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
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
OWN_USER = "postgres"


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


class Server:
    """A PostgreSQL in a temporary folder."""

    def __init__(self, folder: Path) -> None:
        self.data, self.log = folder / "data", folder / "log"
        self.before = ["runuser", "-u", OWN_USER, "--"] if os.geteuid() == 0 else []
        if self.before:
            shutil.chown(folder, OWN_USER)
        folder.chmod(0o755)
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._run("initdb", "-D", str(self.data), "-A", "trust", "-U", OWN_USER, "--no-sync")

    def _run(self, *command: str) -> None:
        done = subprocess.run([*self.before, *command], cwd="/", capture_output=True, text=True, check=False)
        if done.returncode:
            raise SystemExit(f"{command[0]}: {done.stdout}{done.stderr}")

    def start(self) -> None:
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self.data}"
        self._run("pg_ctl", "-D", str(self.data), "-w", "-l", str(self.log), "-o", options, "start")

    def stop(self, how: str = "immediate") -> None:
        self._run("pg_ctl", "-D", str(self.data), "-w", "-m", how, "stop")


@contextmanager
def server() -> Iterator[Server]:
    folder = Path(tempfile.mkdtemp(prefix="faults-"))
    found = Server(folder)
    found.start()
    try:
        yield found
    finally:
        found.stop("fast")
        shutil.rmtree(folder, ignore_errors=True)


def forked(work: Callable[[], object]) -> int:
    """Runs work in a process of its own, with connections of its own. Returns its pid."""
    from django.db import connections

    connections.close_all()
    pid = os.fork()
    if pid:
        return pid
    try:
        # What a killed database says is expected here.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        work()
    except BaseException:
        os._exit(1)
    os._exit(0)


def kill(pid: int) -> bool:
    """Whether it was still at work."""
    done, _ = os.waitpid(pid, os.WNOHANG)
    if done:
        return False
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return True


def sweep_killed(now: datetime, kills: int, luck: random.Random) -> tuple[int, datetime]:
    """Two sweeps at once, of which one is killed while it is at work, until so many were; each pair of sweeps finds the
    checks of further hours to flag, since one with nothing to do is over before it can be killed.

    Returns how many were killed, and the moment up to which was swept.
    """
    from haccp.checks.actions import sweep

    killed = tries = 0
    while killed < kills and tries < kills * 10:
        tries += 1
        now += timedelta(hours=8)
        one = forked(lambda: sweep(now=now))  # noqa: B023 - the fork has its own
        other = forked(lambda: sweep(now=now))  # noqa: B023
        time.sleep(luck.uniform(0.0, 0.25))
        killed += kill(one)
        if killed < kills and luck.random() < 0.5:
            killed += kill(other)
        else:
            os.waitpid(other, 0)
    return killed, now


def expected(dairy: "object", until: datetime) -> Counter[tuple[str, datetime]]:
    from haccp.checks.closed import calendar_of
    from haccp.science.schedule import slots

    premises, revision = dairy.owner.premises, dairy.revision  # type: ignore[attr-defined]
    found: Counter[tuple[str, datetime]] = Counter()
    for check in revision.checks.filter(cadence__kind="clock"):
        for slot in slots(
            check.cadence,
            time_zone=premises.time_zone,
            window_before_s=check.window_before_s,
            grace_s=check.grace_s,
            start=revision.effective_from,
            end=until,
            closed=calendar_of(premises).for_check(check),
        ):
            if slot.grace_ends_at <= until:
                found[check.name, slot.due_at] += 1
    return found


def with_many_checks(dairy: "object", at: datetime) -> None:
    """A check every twenty minutes, so that a sweep after some weeks has thousands to flag."""
    from haccp.plan import actions as plan
    from tests.dairy import PASSWORD

    draft = plan.revision_copy(scope=dairy.owner, change_summary="Often.", at=at)  # type: ignore[attr-defined]
    rule = "FREQ=MINUTELY;INTERVAL=20;BYSECOND=0"
    plan.control_point_add(
        scope=dairy.owner,  # type: ignore[attr-defined]
        revision=draft,
        draft=plan.ControlPointDraft(
            code="PRP 3",
            name="Often",
            kind="prerequisite",
            corrective_action="Look.",
            checks=[
                plan.CheckDraft(
                    name="Looked at",
                    subject="premises",
                    cadence={"kind": "clock", "rrule": rule, "from": "2026-03-01"},
                    measures=[plan.MeasureDraft("Well", "answer", choices=["yes", "no"])],
                    grace_s=600,
                )
            ],
        ),
    )
    dairy.revision = plan.revision_approve(  # type: ignore[attr-defined]
        scope=dairy.owner,
        revision=draft,
        effective_from=at,
        password=PASSWORD,
        at=at,  # type: ignore[attr-defined]
    )


def check_flags(dairy: "object", until: datetime) -> int:
    from haccp.checks.models import MissedCheck
    from haccp.ledger.models import Log
    from haccp.ledger.verification import verify_log

    wanted = expected(dairy, until)
    found = Counter(MissedCheck.objects.values_list("due__check_due__name", "due__due_at"))
    assert found == wanted, f"{len(wanted - found)} flags are missing, {len(found - wanted)} are too many"
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))  # type: ignore[attr-defined]
    assert report.holds, report.problem
    return len(wanted)


def telling(dairy: "object", now: datetime, kills: int, luck: random.Random, folder: Path) -> None:
    """A breach every eleven minutes, of which two processes at once tell, until so many were killed doing so."""
    from haccp.deviations.models import Deviation
    from haccp.notices import actions as notices
    from haccp.notices.models import Alert, Delivery, Notice
    from haccp.notices.raising import LAST_LEVEL, people_at

    def tell(at: datetime) -> None:
        notices.raise_alerts(now=at)
        notices.deliver(now=at)

    began, killed, tries = now, 0, 0
    while killed < kills and tries < kills * 10:
        tries += 1
        now += timedelta(minutes=11)  # past the claim of what was killed
        dairy.save("Room 1 temperature", "17", at=now, instrument_id=dairy.thermometer.id)  # type: ignore[attr-defined]
        pids = [forked(lambda: tell(now)) for _ in range(2)]  # noqa: B023 - the fork has its own
        time.sleep(luck.uniform(0.0, 0.15))
        killed += sum(kill(pid) for pid in pids)
    later = now
    for _ in range(60):  # until the last level of each, and past the quiet hours
        later += timedelta(hours=1)
        tell(later)
    premises = dairy.owner.premises  # type: ignore[attr-defined]
    opened = list(Deviation.objects.filter(opened_at__gt=began))
    wanted = {
        (f"alert:{one.pk}:{level}", person.pk)
        for one in opened
        for level in range(LAST_LEVEL + 1)
        for person in people_at(premises, level, one)
    }
    raised = Alert.objects.filter(deviation__in=opened).values("pk")
    found = set(Notice.objects.filter(kind="alert").values_list("about", "membership"))
    assert len(raised) == len(opened) >= tries
    assert wanted <= found, f"{len(wanted - found)} were never told"
    mails: Counter[str] = Counter()
    for path in folder.iterdir():
        for part in path.read_text().split("-" * 79 + "\n"):
            if part.strip():
                mails[str(email.message_from_string(part)["Message-ID"])] += 1
    twice = sum(mails.values()) - len(mails)
    deliveries = Delivery.objects.count()
    say(
        f"telling: {len(opened)} breaches, {killed} processes killed, {deliveries} mails were to be sent, "
        f"{len(mails)} were, {twice} a second time"
    )
    assert killed >= kills, "Too few were still at work when they were to be killed."
    assert not Delivery.objects.filter(sent_at__isnull=True).exists()
    assert len(mails) == deliveries > 0
    assert twice <= killed


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--weeks", type=float, default=2)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    luck = random.Random(asked.seed)  # noqa: S311
    with server() as own, tempfile.TemporaryDirectory() as mails:
        os.environ["DATABASE_URL"] = f"postgres://{OWN_USER}@127.0.0.1:{own.port}/postgres"
        os.environ["DJANGO_SETTINGS_MODULE"] = "haccp.config.settings"
        import django

        django.setup()
        from django.conf import settings
        from django.core.management import call_command
        from django.db import OperationalError, connections

        from haccp.checks.actions import sweep
        from tests.dairy import OPENED_AT, open_dairy

        settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
        settings.EMAIL_FILE_PATH = mails
        sys.modules["haccp.checks.actions.sweep"].FLAGGED_TOGETHER = 25  # type: ignore[attr-defined]
        call_command("migrate", verbosity=0)
        dairy = open_dairy()
        with_many_checks(dairy, OPENED_AT)
        step = timedelta(weeks=asked.weeks) / 3
        killed, now = sweep_killed(OPENED_AT, asked.kills, luck)
        sweep(now=now)
        say(f"killed: {killed} sweeps, two at once; {check_flags(dairy, now)} flags, as the pure function has them")
        assert killed >= asked.kills, "Too few were still at work when they were to be killed."

        now += step
        for _ in range(5):
            pid = forked(lambda: sweep(now=now))
            time.sleep(luck.uniform(0.1, 0.5))
            own.stop()
            os.waitpid(pid, 0)
            try:
                sweep(now=now)
                raise AssertionError("the database was down")
            except OperationalError:
                connections.close_all()
            own.start()
        sweep(now=now)
        say(f"restarted: 5 times during a sweep; {check_flags(dairy, now)} flags, as the pure function has them")

        now += step
        for hours in (0, 1, 0, 1, 2, 0):
            sweep(now=now - timedelta(hours=hours))
        say(f"set back: an hour and two; {check_flags(dairy, now)} flags, as the pure function has them")
        telling(dairy, now, asked.kills, luck, Path(mails))


if __name__ == "__main__":
    main()
