"""`manage.py open_dairy`: the first dairy of an installation, and its owner."""

import getpass
import zoneinfo
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.validators import validate_email

from haccp.premises.actions import premises_open
from haccp.premises.models import Premises, User


class Command(BaseCommand):
    help = "Opens a dairy with its owner. What is not given as an option is asked; the password always is."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", help="the dairy, as its records print it")
        parser.add_argument("--time-zone", help="such as Europe/Madrid")
        parser.add_argument("--jurisdiction", choices=Premises.Jurisdiction.values)
        parser.add_argument("--owner", help="the owner's name, as signatures print it")
        parser.add_argument("--email", help="the owner signs in with it")

    def handle(self, *args: Any, **options: Any) -> None:
        name = self._answer(options["name"], "Name of the dairy")
        time_zone = self._answer(options["time_zone"], "Time zone, such as Europe/Madrid")
        if time_zone not in zoneinfo.available_timezones():
            raise CommandError(f"“{time_zone}” is not a time zone. Give one such as Europe/Madrid or America/Chicago.")
        choices = ", ".join(Premises.Jurisdiction.values)
        jurisdiction = self._answer(options["jurisdiction"], f"Whose food law applies ({choices})").upper()
        if jurisdiction not in Premises.Jurisdiction.values:
            raise CommandError(f"“{jurisdiction}” is none of {choices}.")
        owner = self._answer(options["owner"], "Name of the owner")
        email = self._email(self._answer(options["email"], "E-mail of the owner"))
        scope = premises_open(
            producer_name=name,
            name=name,
            time_zone=time_zone,
            jurisdiction=jurisdiction,
            owner_name=owner,
            owner_email=email,
            owner_password=self._password(),
        )
        self.stdout.write(f"{scope.premises.name} is open; {owner} signs in with {email}.")

    def _answer(self, given: str | None, question: str) -> str:
        answer = (given or input(f"{question}: ")).strip()
        if not answer:
            raise CommandError(f"{question}: an answer is needed; nothing was made.")
        return answer

    @staticmethod
    def _email(text: str) -> str:
        try:
            validate_email(text)
        except ValidationError:
            raise CommandError(f"“{text}” is not an e-mail address.") from None
        if User.objects.filter(email=text.lower()).exists():
            raise CommandError(f"Somebody here signs in with {text} already.")
        return text

    @staticmethod
    def _password() -> str:
        password = getpass.getpass("A password for the owner: ")
        try:
            validate_password(password)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        if getpass.getpass("The same once more: ") != password:
            raise CommandError("The two passwords differ; nothing was made.")
        return password
