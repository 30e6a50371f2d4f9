"""`manage.py load_library`: checks the library of published knowledge and stores it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from haccp.plan.library.faults import LibraryError
from haccp.plan.library.loading import load_library
from haccp.plan.library_store import FOLDER, SCHEMA, library_load


class Command(BaseCommand):
    help = "Checks the library files and stores them. Exit code 1, and a sentence for each fault, when any is wrong."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--folder", type=Path, default=FOLDER, help="Folder of .yaml files; the project's own.")
        parser.add_argument("--check", action="store_true", help="Only check; store nothing.")

    def handle(self, *args: Any, **options: Any) -> None:
        folder: Path = options["folder"]
        if not folder.is_dir():
            raise CommandError(f"There is no folder “{folder}”. Name one that holds library files.")
        try:
            if options["check"]:
                library, _ = load_library(folder, SCHEMA)
                self.stdout.write(f"{library.name}, edition {library.number}: no faults. Nothing was stored.")
                return
            loaded = library_load(at=timezone.now(), folder=folder)
        except LibraryError as error:
            count = len(error.faults)
            faults = f"{count} fault{'s' if count > 1 else ''}"
            raise CommandError(f"{error}\nThe library has {faults}; nothing was stored.") from error
        name = f"{loaded.library.name}, edition {loaded.library.number}"
        if loaded.is_unchanged:
            self.stdout.write(f"{name}: already loaded; nothing changed.")
            return
        self.stdout.write(
            f"{name}: {loaded.added} entries added, {loaded.changed} changed, {loaded.withdrawn} withdrawn."
        )
