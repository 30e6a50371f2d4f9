"""The site as a small dairy runs it: SQLite, gunicorn, the schedule inside the process. A real server, started."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from tests import ROOT
from tests.processes.stack import Stack, answers, free_port, wait_until

SWEEP_SECONDS = "1"
ELSEWHERE = ("DATABASE_URL", "CELERY_BROKER_URL", "SECRET_KEY", "HTTPS", "DEBUG")


@dataclass(frozen=True, slots=True)
class Scene:
    """A dairy opened on a running site, with the time that its wall clock showed then."""

    time_zone: str
    opened_at: datetime
    owner: str
    maker: str
    password: str

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    @property
    def day(self) -> date:
        return self.opened_at.astimezone(self.zone).date()

    def ago(self, hours: float) -> datetime:
        """That long before the opening, on the dairy's clock, a whole minute."""
        return (self.opened_at - timedelta(hours=hours)).astimezone(self.zone).replace(second=0, microsecond=0)

    def typed(self, hours_ago: float) -> str:
        """As a field for date and time takes it."""
        return f"{self.ago(hours_ago):%Y-%m-%dT%H:%M}"


def open_scene(run: Callable[..., str], *, name: str, kind: str = "evening") -> Scene:
    """run: starts Python with these arguments in the settings of the site, and gives back what it printed."""
    said = json.loads(run("-m", "tests.browser.scene", kind, name).strip().splitlines()[-1])
    return Scene(**said | {"opened_at": datetime.fromisoformat(said["opened_at"])})


@contextmanager
def embedded_site(folder: Path) -> Iterator[Stack]:
    """web alone, on a fresh database in the folder, answering."""
    environment = {key: value for key, value in os.environ.items() if key not in ELSEWHERE} | {
        "DATA_DIR": str(folder),
        "STATIC_ROOT": str(folder / "static"),
        "SWEEP_SECONDS": SWEEP_SECONDS,
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
    }
    site = Stack(environment, folder, free_port())
    site.run("manage.py", "migrate", "--no-input", "--verbosity", "0")
    command = f"-m gunicorn haccp.config.wsgi --bind 127.0.0.1:{site.port} --threads 8 --no-control-socket"
    with (folder / "web.log").open("ab") as log:
        site.processes["web"] = subprocess.Popen(
            [sys.executable, *command.split()],
            cwd=ROOT,
            env=environment,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    try:
        wait_until(lambda: answers(f"{site.url}/health/"), "the site answers", site, "web")
        yield site
    finally:
        site.stop()
