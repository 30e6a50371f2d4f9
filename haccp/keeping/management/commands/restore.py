"""`manage.py restore FILE`: a backup into an empty database, proven by heads and counts."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from haccp.keeping.backup import KeepingError, restore


class Command(BaseCommand):
    help = "Restores a backup into an empty database and folder of files, and compares rows and heads of the ledger."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            held = restore(options["file"])
        except KeepingError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Restored: {sum(held['rows'].values())} rows and the heads of {len(held['heads'])} logs are those of the "
            "backup. Now run “manage.py migrate” and “manage.py verify_ledger”."
        )
