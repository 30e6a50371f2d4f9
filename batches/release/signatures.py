"""The day books in which the batch stands: signed off and reviewed, and unchanged since."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding
from batches.release.surroundings import stays_of
from haccp.checks.days import DaySigning, signing_of
from haccp.checks.models import DueCheck
from haccp.lots.models import LotEvent


def day_books(facts: Facts) -> Iterable[Point]:
    """Every day on which something was recorded of the batch or its milk was judged, or on which a check of it, or of
    where it then was, has neither a record nor a reason.

    21 CFR 117.165(a)(4) and Codex CXC 1 (from memory): monitoring records are reviewed and signed by a second person.
    """
    events = LotEvent.objects.filter(lot=facts.batch).values_list("occurred_at", flat=True)
    days = {facts.day(moment) for moment in (*events, *(record.observed_at for record in facts.records))}
    signing = signing_of(facts.premises, days | _unanswered(facts), facts.at)
    open_days = {day: _lacks(one) for day, one in signing.items() if _lacks(one)}
    for day, lacks in sorted(open_days.items()):
        words = f"The day book of {_day(day)} {lacks}."
        yield outstanding(Matter.DAY_BOOK, words, Link("checks:day", "Open the day", day.isoformat()))
    if signing and not open_days:
        days_in_words = f"all {len(signing)} days" if len(signing) > 1 else _day(min(signing))
        yield met(Matter.DAY_BOOK, f"The day book of {days_in_words} that speak of it is signed off and reviewed.")


def _unanswered(facts: Facts) -> set[date]:
    """Days of checks that nobody did or said a reason for: of the lots, and of the places while the batch was there."""
    open_then = DueCheck.objects.for_premises(facts.premises).filter(
        Q(reason_wanted=True) | Q(settled_at__isnull=True), due_at__lt=facts.at
    )
    of_lots = Q(lot__in=[lot.pk for lot in facts.lots])
    of_places = Q(pk__in=[])
    for stay in stays_of(facts):
        of_places |= Q(check_due__place=stay.place, due_at__gte=stay.began_at, due_at__lte=stay.ended_at)
    return {facts.day(moment) for moment in open_then.filter(of_lots | of_places).values_list("due_at", flat=True)}


def _lacks(day: DaySigning) -> str:
    if day.unanswered:
        checks = "check that was" if day.unanswered == 1 else "checks that were"
        return f"has {day.unanswered} {checks} not done, without a reason"
    if day.signed_off is None:
        return "is not signed off"
    if day.reviewed is None:
        return "is not reviewed by a second person"
    return "was changed after it was signed, and must be signed again" if day.changed_since else ""


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
