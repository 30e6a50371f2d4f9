"""The day books in which the batch stands: signed off and reviewed, and unchanged since."""

from collections.abc import Iterable
from datetime import date

from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding
from haccp.checks.days import DaySigning, signing_of
from haccp.lots.models import LotEvent


def day_books(facts: Facts) -> Iterable[Point]:
    """Every day on which something was recorded of the batch, and on which its milk was judged.

    21 CFR 117.165(a)(4) and Codex CXC 1 (from memory): monitoring records are reviewed and signed by a second person.
    """
    events = LotEvent.objects.filter(lot=facts.batch).values_list("occurred_at", flat=True)
    days = {facts.day(moment) for moment in (*events, *(record.observed_at for record in facts.records))}
    signing = signing_of(facts.premises, days)
    open_days = {day: _lacks(one) for day, one in signing.items() if _lacks(one)}
    for day, lacks in sorted(open_days.items()):
        words = f"The day book of {_day(day)} {lacks}."
        yield outstanding(Matter.DAY_BOOK, words, Link("checks:day", "Open the day", day.isoformat()))
    if signing and not open_days:
        days_in_words = f"all {len(signing)} days" if len(signing) > 1 else _day(min(signing))
        yield met(Matter.DAY_BOOK, f"The day book of {days_in_words} that speak of it is signed off and reviewed.")


def _lacks(day: DaySigning) -> str:
    if day.signed_off is None:
        return "is not signed off"
    if day.reviewed is None:
        return "is not reviewed by a second person"
    return "was changed after it was signed, and must be signed again" if day.changed_since else ""


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
