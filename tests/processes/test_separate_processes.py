"""What docker-compose.yml says; tests/browser/test_main_path_on_separate_processes.py runs its very commands."""

import shutil
import subprocess

import pytest

from tests import ROOT
from tests.processes.stack import compose


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
