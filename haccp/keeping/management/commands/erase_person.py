"""`manage.py erase_person EMAIL --reason …`: a lawful request to be forgotten."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from haccp.keeping.erasure import person_erase
from haccp.ledger.errors import LedgerError
from haccp.premises.errors import ActionError


class Command(BaseCommand):
    help = (
        "Erases name and address of somebody who has left. Records, signatures and proofs stay. Weigh first what the "
        "law on keeping food-safety records asks: backups made before still hold the name."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--reason", required=True, help="the request, and the law that it rests on; it is sealed")
        parser.add_argument("--by", required=True, help="who carries it out; it is sealed")

        parser.add_argument(
            "--although-kept",
            action="store_true",
            help="although records are still to be kept with the name: the authority or a lawyer said so",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            erased = person_erase(
                email=options["email"],
                reason=options["reason"],
                asked_by=options["by"],
                at=timezone.now(),
                although_kept=options["although_kept"],
            )
        except (ActionError, LedgerError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Erased, in {erased.logs} logs. What was typed into records and plans was not searched for the name."
        )
