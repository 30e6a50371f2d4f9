"""`manage.py demo`: a dairy with four weeks of history, the site and the schedule, in one process."""

import sys
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from haccp.config.demo import database, fresh, history, serving, welcome
from haccp.config.demo.prepare import prepare


def _days(text: str) -> int:
    if not text.isdecimal() or not 2 <= int(text) <= history.DAYS:
        raise ArgumentTypeError(f"give a whole number of days from 2 to {history.DAYS}, not “{text}”")
    return int(text)


class Command(BaseCommand):
    help = "Loads a demo dairy, or takes up the one that is there, and serves it with the schedule in one process."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="8000 unless given; 0 for any free one.")
        parser.add_argument("--host", default="127.0.0.1", help="127.0.0.1 unless given; 0.0.0.0 for other devices.")
        parser.add_argument("--fresh", action="store_true", help="Begin anew; asks before anything is thrown away.")
        parser.add_argument("--yes", action="store_true", help="Answers that question with yes, for scripts.")
        parser.add_argument("--no-serve", action="store_true", help="Load only; do not start the site.")

        parser.add_argument(
            "--days", type=_days, default=history.DAYS, help=f"Days of history for a new load, 2 to {history.DAYS}."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        database.refuse_unwritable()
        bound = None if options["no_serve"] else serving.take_port(options["host"], options["port"])
        if options["fresh"]:
            self._begin_anew(yes=options["yes"])
        if not database.look().has_demo:
            self._say(welcome.loading(options["days"]))
        self._say(welcome.arrived(prepare(now=now, days=options["days"])))
        if bound is not None:
            address = serving.address_of(bound)
            serving.allow_host(options["host"])
            serving.serve(bound, when_ready=lambda: self._say(welcome.invitation(address)))

    def _begin_anew(self, *, yes: bool) -> None:
        sentence = fresh.what_would_go()
        if not sentence:
            return
        if not yes:
            if not sys.stdin.isatty():
                raise CommandError(f"{sentence} Nothing was touched: add --yes to agree without a terminal.")
            self._say(sentence)
            if input("Type yes to go on: ").strip().lower() != "yes":
                raise CommandError("Nothing was thrown away; start without --fresh to go on with what is there.")
        fresh.throw_away(now=timezone.now())

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()
