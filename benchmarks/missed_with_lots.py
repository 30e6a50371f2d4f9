"""What a missed critical check costs at a dairy that is full of cheese: uv run python benchmarks/missed_with_lots.py

    DATABASE_URL=postgres://127.0.0.1:5432/missed_bench uv run python benchmarks/missed_with_lots.py [--lots 500]

Fills a database of its own (an empty one that must be named): batches that each lie in the ripening room, of which none
was heated on record. Then one sweep flags the critical checks of all of them, each of which implicates its batch and
holds it, and one that flags a check of the room, which implicates every batch in it. Printed: milliseconds for each
missed check, number of queries, and the same for a tenth of the batches.
"""

import argparse
import os
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")

import django

django.setup()

from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from haccp.checks.actions import sweep
from haccp.checks.models import DueCheck, MissedCheck
from haccp.deviations.models import Deviation, ImplicatedLot
from haccp.lots.models import Hold
from haccp.premises.models import Premises
from tests.dairy import Dairy, open_dairy

BEGAN = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def fill(name: str, lots: int) -> tuple[Dairy, datetime]:
    """A dairy with so many makes of one day, and the moment at which all their checks are past their grace."""
    dairy = open_dairy(name=name, at=BEGAN - timedelta(days=1))
    for number in range(lots):
        make = dairy.start_make(at=BEGAN + timedelta(seconds=number))
        dairy.event(make, "placed_in_room", at=BEGAN + timedelta(hours=1, seconds=number), place=dairy.room)
    return dairy, BEGAN + timedelta(hours=8)


def measure(what: str, dairy: Dairy, now: datetime) -> None:
    due = DueCheck.objects.for_premises(dairy.owner.premises).past_grace(now)
    critical = due.filter(check_due__control_point__kind="ccp").count()
    with CaptureQueriesContext(connection) as asked:
        start = time.perf_counter()
        flagged = sweep(now=now).flagged
        took = time.perf_counter() - start
    here = {"deviation__premises": dairy.owner.premises}
    say(
        f"{what}: {flagged} flagged, {critical} of them critical, in {took:.2f} s; "
        f"{took / max(critical, 1) * 1000:.1f} ms for each critical one, {len(asked)} queries; "
        f"{Deviation.objects.filter(premises=dairy.owner.premises).count()} deviations, "
        f"{ImplicatedLot.objects.filter(**here).count()} lots implicated, "
        f"{Hold.objects.filter(lot__premises=dairy.owner.premises).count()} holds"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--lots", type=int, default=500)
    asked = parser.parse_args()
    call_command("migrate", verbosity=0)
    if Premises.objects.exists():
        sys.exit("The database is not empty: name one of its own in DATABASE_URL, and drop it afterwards.")
    connection.force_debug_cursor = False
    for name, lots in (("Small Dairy", max(asked.lots // 10, 1)), ("Full Dairy", asked.lots)):
        dairy, now = fill(name, lots)
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        say(f"{name}: {lots} batches, {MissedCheck.objects.count()} flagged before")
        measure("of the batches", dairy, now)
        measure("of the room, a day later", dairy, now + timedelta(days=1))


if __name__ == "__main__":
    main()
