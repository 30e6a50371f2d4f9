"""The rooms and what may import what."""

import configparser
import pkgutil
import subprocess
import sys

import batches
import haccp
from tests import ROOT


def rooms() -> set[str]:
    return {
        f"{package.__name__}.{module.name}"
        for package in (haccp, batches)
        for module in pkgutil.iter_modules(package.__path__)
    }


def test_every_room_has_a_layer() -> None:
    """A module missing from the layers is not checked by import-linter."""
    contract = configparser.ConfigParser()
    contract.read(ROOT / ".importlinter")
    layers = contract["importlinter:contract:layers"]["layers"].split()
    assert rooms() == set(layers) - {"|"}


def test_imports_run_one_way() -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command; lint_imports_command()",
            "--no-cache",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_science_loads_without_django() -> None:
    """A notebook uses haccp.science with no settings at hand."""
    script = (
        "import sys, pkgutil, importlib, haccp.science as s\n"
        "[importlib.import_module(m.name) for m in pkgutil.walk_packages(s.__path__, 'haccp.science.')]\n"
        "assert not {'django', 'celery', 'rest_framework'} & set(sys.modules), sorted(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
