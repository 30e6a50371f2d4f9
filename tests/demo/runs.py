"""Runs `manage.py` in a process of its own, on a folder of its own."""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests import ROOT

# Migrates and loads a short history with a quick password hasher, by the very function that the command calls.
LOAD = """
import sys
from datetime import UTC, datetime, timedelta
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
from haccp.config.demo.history import load
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
call_command("migrate", verbosity=0)
load(now=datetime.now(UTC) - timedelta(hours=float(sys.argv[1])), days=2)
"""


@dataclass(frozen=True)
class Folder:
    """DATA_DIR of a run. extra: environment variables beside it."""

    path: Path
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def database(self) -> Path:
        return self.path / "curdward.sqlite3"

    @property
    def environment(self) -> dict[str, str]:
        kept = {key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "CELERY_BROKER_URL")}
        return kept | {
            "DATA_DIR": str(self.path),
            "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
            "PYTHONPATH": str(ROOT),
            "SWEEP_SECONDS": "1",
            **dict(self.extra),
        }

    def load(self, *, hours_ago: float = 0) -> None:
        self.python(LOAD, str(hours_ago))

    def python(self, script: str, *arguments: str) -> str:
        done = self._run("-c", script, *arguments)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def demo(self, *arguments: str) -> "subprocess.CompletedProcess[str]":
        """`manage.py demo` with these arguments, without a terminal."""
        return self._run("manage.py", "demo", "--no-serve", *arguments)

    def start(self, *arguments: str) -> "subprocess.Popen[str]":
        """`manage.py demo`, serving."""
        return subprocess.Popen(
            [sys.executable, "manage.py", "demo", *arguments],
            cwd=ROOT,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def _run(self, *arguments: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=ROOT,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )


def refusal(done: "subprocess.CompletedProcess[str]") -> str:
    """What a refused run said: exit code 1, no traceback, one line."""
    assert done.returncode == 1, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    return lines[0]
