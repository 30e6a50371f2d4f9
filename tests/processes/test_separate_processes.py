"""Worker and beat as separate processes, on PostgreSQL and Redis, by the commands of docker-compose.yml."""

import shutil
import subprocess
from pathlib import Path

import pytest

from tests import ROOT
from tests.processes.stack import compose, separate_processes, wait_until

COUNT_MISSED = "from haccp.checks.models import MissedCheck; print('missed', MissedCheck.objects.count())"


@pytest.mark.postgres
@pytest.mark.redis
def test_a_real_worker_and_beat_flag_what_nobody_did(tmp_path: Path) -> None:
    with separate_processes(tmp_path) as stack:
        stack.healthcheck("web")
        stack.run("-m", "tests.processes.open_late_dairy")
        assert "missed 0" in stack.run("manage.py", "shell", "-c", COUNT_MISSED)

        stack.start("worker")
        stack.start("beat")
        wait_until(
            lambda: "missed 0" not in stack.run("manage.py", "shell", "-c", COUNT_MISSED),
            "the sweep has flagged this morning's room check",
            stack,
            "worker",
        )

        stack.healthcheck("worker")
        stack.healthcheck("beat")
        # No second worker or beat makes a second flag: one row per due check, held by the database.
        stack.start("beat")
        flagged = stack.run("manage.py", "shell", "-c", COUNT_MISSED)
        stack.run("manage.py", "shell", "-c", "from haccp.checks.actions import sweep; sweep()")
        assert stack.run("manage.py", "shell", "-c", COUNT_MISSED) == flagged
        stack.run("manage.py", "verify_ledger")


def compose_client() -> list[str]:
    if shutil.which("docker-compose"):
        return ["docker-compose"]
    if shutil.which("docker") and not subprocess.run(["docker", "compose", "version"], capture_output=True).returncode:
        return ["docker", "compose"]
    pytest.skip("needs the compose client (Debian: docker-compose), and none is installed")


def test_the_compose_file_is_accepted_by_the_compose_client() -> None:
    done = subprocess.run(
        [*compose_client(), "config", "--quiet"],
        cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", "SECRET_KEY": "x", "POSTGRES_PASSWORD": "y"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_every_service_says_when_it_is_well_and_keeps_what_it_must() -> None:
    services = compose()
    assert set(services) == {"web", "worker", "beat", "postgres", "redis"}
    for name, service in services.items():
        assert "healthcheck" in service, f"{name} has no health check"
        assert service["restart"] == "unless-stopped"
    for name in ("web", "worker", "beat", "postgres", "redis"):
        assert services[name]["volumes"], f"{name} would lose its data with its container"
