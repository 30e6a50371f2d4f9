"""Habits of the repository that a machine can check."""

import re
import subprocess
import sys
from io import StringIO

import pytest
from django.core.management import call_command

from tests import ROOT


def tracked() -> list[str]:
    return subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\n")[
        :-1
    ]


def test_the_lock_file_names_no_host_but_the_public_registry() -> None:
    hosts = set(re.findall(r"https?://([^/\"]+)", (ROOT / "uv.lock").read_text()))
    assert hosts <= {"pypi.org", "files.pythonhosted.org"}


def test_no_file_holds_a_path_of_somebody_s_machine() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("needs a git checkout")
    pattern = re.compile(rb"(?<![\w.])/(?:home|root|work|Users)/\w")
    guilty = [
        name
        for name in tracked()
        if not name.endswith((".ttf", ".png", ".woff2", "test_settled_files.py"))
        and pattern.search((ROOT / name).read_bytes())
    ]
    assert guilty == []


@pytest.mark.django_db
def test_models_and_migrations_agree() -> None:
    call_command("makemigrations", check=True, dry_run=True, stdout=StringIO())


@pytest.mark.django_db
def test_django_s_own_checks_pass_with_the_database() -> None:
    call_command("check", databases=["default"], fail_level="WARNING", stdout=StringIO())


def test_deployment_checks_pass_behind_https() -> None:
    environment = {"HTTPS": "1", "SECRET_KEY": "x" * 60 + "abcdefghij", "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
