"""`manage.py import_premises FILE…`: exported premises into this installation."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from haccp.keeping.backup import KeepingError
from haccp.keeping.parcel.bringing_in import Brought, import_premises
from haccp.keeping.parcel.calling import call_people
from haccp.ledger import queries
from haccp.ledger.head import fingerprint
from haccp.ledger.models import SignedHead


class Command(BaseCommand):
    help = (
        "Brings exported premises into this installation: all of it, verified, or nothing. People choose a new "
        "password by mail. Stop recording at the place where they came from: two copies that go on are two histories."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file", type=Path, nargs="+", help="several where premises moved cheese between them: all come in together"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            arrived = import_premises(options["file"], at=timezone.now())
        except KeepingError as error:
            raise CommandError(str(error)) from error
        for brought in arrived:
            self._say(brought)

    def _say(self, brought: Brought) -> None:
        head = queries.head(brought.premises.log_id)
        key = SignedHead(public_key=brought.public_key).key_words
        self.stdout.write(
            f"{brought.premises.name}: {brought.rows} rows and {brought.entries} entries verify. Fingerprint "
            f"{fingerprint(head)}, signed by the key {key}: compare both with what was printed there."
        )
        for pack in brought.absent:
            self.stdout.write(f"The file of the visit pack {pack} was gone when the export was made.")
        for called in call_people(brought):
            self.stdout.write(called)
        if not settings.SITE_URL:
            self.stdout.write("SITE_URL is not set: no letters were sent.")
