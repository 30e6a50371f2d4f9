"""`manage.py open_premises`: another premises of a producer who has one here, owned by the same person."""

from typing import Any
from uuid import uuid4

from django.core.management.base import BaseCommand, CommandError, CommandParser

from haccp.premises.actions import premises_add
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership, Premises
from haccp.premises.scope import Scope


class Command(BaseCommand):
    help = "Opens another premises beside one that is open: cheese can be moved between the two."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--beside", required=True, help="the name of the producer's premises that is open")
        parser.add_argument("--email", required=True, help="its owner signs in with it, and owns the new one too")
        parser.add_argument("--name", required=True, help="the new premises, as its records print it")
        parser.add_argument("--time-zone", required=True, help="such as Europe/Madrid")
        parser.add_argument("--jurisdiction", required=True, choices=Premises.Jurisdiction.values)

    def handle(self, *args: Any, **options: Any) -> None:
        owner = Membership.objects.filter(
            premises__name=options["beside"],
            user__email=options["email"].lower(),
            role=Membership.Role.OWNER,
            left_at__isnull=True,
        ).first()
        if owner is None:
            raise CommandError(f"{options['email']} owns no premises called “{options['beside']}”; nothing was made.")
        try:
            scope = premises_add(
                scope=Scope(owner),
                premises_id=uuid4(),
                name=options["name"],
                time_zone=options["time_zone"],
                jurisdiction=options["jurisdiction"],
            )
        except ActionError as error:
            raise CommandError(error.message) from error
        self.stdout.write(f"{scope.premises.name} is open; {owner.user.name} chooses between the two after signing in.")
