"""`manage.py export_premises ID FILE`: everything of one premises in one archive."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from haccp.keeping.parcel.writing import write_premises
from haccp.premises.models import Premises


class Command(BaseCommand):
    help = (
        "Writes one premises into a new ZIP file while the service runs: every row (JSON Lines), tables (CSV), papers "
        "(PDF), attachments, and the log with its signed heads. Passwords and keys stay behind."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("premises", help="its id, or its name where only one has it")
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        premises, path = _premises(options["premises"]), options["file"]
        if path.exists():
            raise CommandError(f"{path} is there already: name a new file.")
        try:
            written = write_premises(premises, path, made_at=timezone.now())
        except OSError as error:
            raise CommandError(f"{path} could not be written: {error}. Nothing is left of it.") from error
        self.stdout.write(
            f"{path}: {written.rows} rows and {written.entries} entries of {premises.name}, {written.size_bytes} bytes."
            f" SHA-256 {written.sha256}"
        )
        for pack in written.absent:
            self.stdout.write(f"The file of the visit pack {pack} is gone from the disk, and is not in the archive.")


def _premises(asked: str) -> Premises:
    found = [one for one in Premises.objects.order_by("name") if asked in (str(one.pk), one.name)]
    if len(found) == 1:
        return found[0]
    if found:
        raise CommandError(f"{len(found)} premises are called {asked}: name one by its id.")
    known = "; ".join(f"{one.pk} {one.name}" for one in Premises.objects.order_by("name"))
    raise CommandError(f"There is no premises {asked}. Here are: {known or 'none'}.")
