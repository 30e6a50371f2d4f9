"""Starts the service as docker-compose.yml does, by the very same commands, without a container engine."""

import os
import shlex
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg
import yaml

from tests import ROOT
from tests.services import need_postgres, need_redis, with_database

PATIENCE_S = 180.0


def compose() -> dict[str, dict[str, object]]:
    """The services of docker-compose.yml."""
    services: dict[str, dict[str, object]] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())["services"]
    return services


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass
class Stack:
    """web, worker and beat as separate processes on PostgreSQL and Redis."""

    environment: dict[str, str]
    folder: Path
    port: int
    processes: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self, service: str) -> None:
        command = str(compose()[service]["command"]).replace("0.0.0.0:8000", f"127.0.0.1:{self.port}")
        command = command.replace("/tmp/beat", str(self.folder / "beat"))
        with (self.folder / f"{service}.log").open("ab") as log:
            self.processes[f"{service} {len(self.processes)}"] = subprocess.Popen(
                ["bash", "-c", command if command.startswith("sh -c") else f"exec {command}"],
                cwd=ROOT,
                env=self.environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def run(self, *arguments: str) -> str:
        """A command of manage.py in the same environment; its output."""
        done = subprocess.run(
            [sys.executable, *arguments], cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def healthcheck(self, service: str) -> None:
        """Runs the health check that the compose file declares for a service."""
        check = compose()[service]["healthcheck"]
        assert isinstance(check, dict)
        kind, *words = check["test"]
        host = socket.gethostname()
        command = words[0].replace("$$HOSTNAME", host) if kind == "CMD-SHELL" else shlex.join(words)
        command = command.replace("127.0.0.1:8000", f"127.0.0.1:{self.port}")
        done = subprocess.run(
            ["bash", "-c", command], cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{service}: {done.stdout}{done.stderr}"

    def log(self, service: str) -> str:
        return (self.folder / f"{service}.log").read_text(errors="replace")

    def stop(self) -> None:
        for process in self.processes.values():
            if process.poll() is None:
                os.killpg(process.pid, 15)
        for process in self.processes.values():
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, 9)


@contextmanager
def separate_processes(folder: Path) -> Iterator[Stack]:
    """A fresh database and the web process, ready; worker and beat are started by the test."""
    server, redis_url = need_postgres(), need_redis()
    name = f"curdward_{uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    port = free_port()
    url = urlsplit(with_database(server, name))._replace(scheme="postgres")
    environment = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "DATABASE_URL": urlunsplit(url),
        # A number of our own, so that tests side by side do not take each other's tasks.
        "CELERY_BROKER_URL": urlunsplit(urlsplit(redis_url)._replace(path=f"/{os.getpid() % 14 + 1}")),
        "SECRET_KEY": "only for this test, long enough to be taken for a real one",
        "DATA_DIR": str(folder),
        "FILES_DIR": str(folder / "files"),
        "SWEEP_SECONDS": "2",
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
    }
    stack = Stack(environment, folder, port)
    try:
        stack.start("web")
        wait_until(lambda: answers(f"{stack.url}/health/"), "the web process answers", stack, "web")
        yield stack
    finally:
        stack.stop()
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


def answers(url: str) -> bool:
    try:
        with urllib.request.urlopen(url, timeout=2) as response:
            return bool(response.status == 200)
    except OSError:
        return False


def wait_until(is_so: Callable[[], bool], what: str, stack: Stack, service: str) -> None:
    """Fails with the service's log when it does not come true in time."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        if is_so():
            return
        time.sleep(0.3)
    raise AssertionError(f"Waited {PATIENCE_S:.0f} s until {what}.\n{stack.log(service)[-4000:]}")
