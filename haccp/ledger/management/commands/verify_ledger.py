"""`manage.py verify_ledger`: does every log, and every row that it sealed, still say what it said?"""

import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from haccp.ledger import triggers
from haccp.ledger.errors import LedgerError
from haccp.ledger.head import Fingerprint, fingerprint, read_fingerprint
from haccp.ledger.models import Log
from haccp.ledger.queries import set_back
from haccp.ledger.verification import verify_log


class Command(BaseCommand):
    help = "Checks the logs and the rows that they sealed. Exit code 1, and one sentence, for the first misfit."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--log", metavar="KEY", help="Only the log with this key.")
        parser.add_argument(
            "--fingerprint",
            action="append",
            default=[],
            metavar="TEXT",
            help="A fingerprint from paper, such as NY2A-WOM4-7767-5BBL/1204; needs --log. May be repeated.",
        )
        parser.add_argument("--no-rows", action="store_true", help="Only the logs, not the rows that they sealed.")
        parser.add_argument("--processes", type=int, metavar="N", help="How many hash side by side.")

    def handle(self, *args: Any, **options: Any) -> None:
        for guard in triggers.missing(connection):
            raise CommandError(
                f"The database no longer refuses changes to {guard.table}: somebody took its triggers away."
                " Run “manage.py migrate” to put them back, then verify again."
            )
        printed = _read_fingerprints(options["fingerprint"], options["log"])
        for log in _logs(options["log"]):
            report = verify_log(
                log, rows=not options["no_rows"], fingerprints=printed, processes=options["processes"] or _processes()
            )
            if not report.holds:
                raise CommandError(report.problem)
            self.stdout.write(
                f"{report.log_key}: {report.entries} entries and {report.rows} rows hold."
                f" Fingerprint {fingerprint(report.head)}"
            )
            for step in set_back(log.pk):
                self.stdout.write(
                    f"{report.log_key}: between entry {step.index - 1} and entry {step.index} the service’s clock was"
                    f" set back, from {step.before:%Y-%m-%d %H:%M:%S} to {step.recorded_at:%Y-%m-%d %H:%M:%S} UTC."
                    " The order is that of sealing all the same."
                )


def _processes() -> int:
    """Other connections do not see into a transaction, and SQLite's may be in memory."""
    alone = connection.in_atomic_block or connection.vendor != "postgresql"
    return 1 if alone else os.cpu_count() or 1


def _read_fingerprints(typed: list[str], log_key: str | None) -> list[Fingerprint]:
    if typed and log_key is None:
        raise CommandError("A fingerprint belongs to one log: name the log with --log KEY.")
    try:
        return [read_fingerprint(text) for text in typed]
    except LedgerError as error:
        raise CommandError(str(error)) from error


def _logs(key: str | None) -> list[Log]:
    if key is None:
        return list(Log.objects.order_by("key"))
    log = Log.objects.filter(key=key).first()
    if log is None:
        raise CommandError(f"There is no log “{key}”. Leave out --log to check all logs.")
    return [log]
