"""`manage.py backup FILE`: everything in one file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from haccp.keeping.backup import KeepingError, back_up


class Command(BaseCommand):
    help = "Writes database and files into one new file, while the service runs. The keys are kept apart."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            held = back_up(options["file"])
        except KeepingError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"{options['file']}: {sum(held['rows'].values())} rows, {len(held['heads'])} logs. Keep SECRET_KEY and "
            "LEDGER_KEY (or secret_key and ledger_key in DATA_DIR) elsewhere."
        )
