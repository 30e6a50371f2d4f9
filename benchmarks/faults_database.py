"""Takes the database away from under a person at a browser, and gives it back: what they typed must arrive, once.

    uv run python benchmarks/faults_database.py [--room FOLDER] [--pictures FOLDER]

On a PostgreSQL of its own, with gunicorn as a small dairy runs it, in Chromium:

  stopped   while a check is typed the server is stopped; the page says so; it is started, the button sends it again
  crashed   the server is killed the hard way and is up again before anybody presses anything: nobody notices
  full      --room names a small file system of its own (such as a tmpfs of 300 MB) for the server's files: it is
            filled to the last byte while somebody types, the page says so, reading goes on, and once there is room
            the button saves it

Then every ledger verifies, and each record is there once.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1]))
from benchmarks.faults_sweep import Server, say
from tests.browser.site import Scene, open_scene
from tests.browser.visitor import Visitor, visit
from tests.processes.stack import Stack, answers, free_port, wait_until
from tests.services import need_chromium

ROOT = Path(__file__).parents[1]
PHONE = (390, 844)


@contextmanager
def site(found: Server, folder: Path) -> Iterator[Stack]:
    environment = os.environ | {
        "DATABASE_URL": f"postgres://postgres@127.0.0.1:{found.port}/postgres",
        "DATA_DIR": str(folder),
        "STATIC_ROOT": str(folder / "static"),
        "SWEEP_SECONDS": "1",
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "haccp.config.settings",
    }
    stack = Stack(dict(environment), folder, free_port())
    stack.run("manage.py", "migrate", "--no-input", "--verbosity", "0")
    command = f"-m gunicorn haccp.config.wsgi --bind 127.0.0.1:{stack.port} --threads 8 --no-control-socket"
    with (folder / "web.log").open("ab") as log:
        stack.processes["web"] = subprocess.Popen(
            [sys.executable, *command.split()],
            cwd=ROOT,
            env=environment,
            stdout=log,
            stderr=log,
            start_new_session=True,
        )
    try:
        wait_until(lambda: answers(f"{stack.url}/health/"), "the site answers", stack, "web")
        yield stack
    finally:
        stack.stop()


class Person:
    """Somebody with a telephone, and where the pictures of what they see go."""

    def __init__(self, visitor: Visitor, check: str, pictures: Path | None) -> None:
        self.visitor, self.check, self.pictures = visitor, check, pictures

    def types(self, value: str, note: str = "") -> None:
        self.visitor.page.goto(f"{self.visitor.url}/checks/extra/{self.check}/")
        self.visitor.fill("Top shelf", value)
        self.visitor.choose("Instrument", "Thermometer")
        self.visitor.fill("Note (may be left empty)", note or f"Typed as {value} & kept")

    def saves(self, *, expecting: str) -> None:
        self.visitor.press("Save")
        self.visitor.at(expecting)
        self.visitor.sees("Typed as")

    def sends_again(self) -> None:
        self.visitor.press("Send it again")
        self.visitor.sees("Saved.")

    def pictured(self, name: str) -> None:
        if self.pictures is not None:
            self.visitor.page.screenshot(path=self.pictures / f"{name}.png", full_page=True)


def filled(folder: Path) -> Path:
    """Every last byte of the file system is taken by one file."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        for size in (1024 * 1024, 4096, 1):
            try:
                while True:
                    file.write(b"\0" * size)
            except OSError:
                continue
    return ballast


def asked_of(stack: Stack, expression: str) -> str:
    code = f"from haccp.checks.models import Record; from haccp.plan.models import Check; print({expression})"
    return stack.run("manage.py", "shell", "-v", "0", "-c", code).strip().splitlines()[-1]


def count(stack: Stack, value: str) -> str:
    return asked_of(stack, f"Record.objects.filter(note__startswith='Typed as {value}').count()")


def stopped(person: Person, found: Server) -> None:
    person.types("11.1")
    found.stop("fast")
    person.saves(expecting="The records cannot be reached just now")
    person.pictured("stopped")
    person.visitor.press("Send it again")
    person.visitor.at("The records cannot be reached just now")
    found.start()
    person.sends_again()


def crashed(person: Person, found: Server) -> None:
    person.types("11.2")
    found.stop("immediate")
    found.start()
    person.visitor.press("Save")
    person.visitor.sees("Saved.")


def full(person: Person, found: Server, room: Path) -> None:
    person.types("11.3")
    ballast = filled(room)
    try:
        tries = 0
        person.visitor.press("Save")
        # The last page of each table may have had room for one more.
        while "Saved." in person.visitor.main.inner_text():
            tries += 1
            person.types("11.3", f"Typed as full {tries} " + 1900 * "🧀")
            person.visitor.press("Save")
        person.visitor.at("There is no room left to save anything")
        person.pictured("full")
        look = person.visitor.page.context.new_page()
        seen = look.goto(f"{person.visitor.url}/today/")
        assert seen is not None
        assert seen.status == 200
        look.close()
    finally:
        ballast.unlink()
    person.sends_again()


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--room", type=Path)
    parser.add_argument("--pictures", type=Path)
    asked = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="faults-"))
    cluster = asked.room or Path(tempfile.mkdtemp(prefix="faults-"))
    found = Server(cluster)
    found.start()
    try:
        with site(found, folder) as stack, sync_playwright() as playwright:
            scene: Scene = open_scene(stack.run, name="Lost Farm")
            browser = playwright.chromium.launch(executable_path=need_chromium(), args=["--no-sandbox"])
            with watched(browser, stack, scene) as visitor:
                check = asked_of(stack, "Check.objects.get(name='Room 1 temperature').pk")
                person = Person(visitor, check, asked.pictures)
                visitor.sign_in(scene.maker)
                stopped(person, found)
                say(f"stopped: {count(stack, '11.1')} record")
                crashed(person, found)
                say(f"crashed: {count(stack, '11.2')} record")
                if asked.room is not None:
                    full(person, found, asked.room)
                    say(f"full: {count(stack, '11.3')} and {count(stack, 'full')} records")
            browser.close()
            say(stack.run("manage.py", "verify_ledger").strip())
            log = stack.log("web")
            say(f"{log.count('Traceback')} tracebacks in the log of the web process")
    finally:
        found.stop("fast")
        shutil.rmtree(folder, ignore_errors=True)
        if asked.room is None:
            shutil.rmtree(cluster, ignore_errors=True)


@contextmanager
def watched(browser: object, stack: Stack, scene: Scene) -> Iterator[Visitor]:
    """The console's lines for an answer of 503 are what is looked for here, and no fault."""
    with visit(browser, stack.url, scene, PHONE) as visitor:  # type: ignore[arg-type]
        yield visitor
        visitor.faults[:] = [fault for fault in visitor.faults if "status of 503" not in fault]


if __name__ == "__main__":
    main()
