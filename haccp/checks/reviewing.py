"""Which days lack a review, none of them forgotten.

The last 30 days are read as they stand. Of what is older, each day that lacks one is noted once when it grows old, and
again when something is entered about it later; so counting costs what is unreviewed, not what history holds.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Count, Min, Q

from haccp.checks.days import day_lines
from haccp.checks.free_days import free_days_of
from haccp.checks.models import DayLeftUnreviewed, PlanningMark
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Premises
from haccp.science.working_days import REVIEW_WITHIN_WORKING_DAYS, oldest_in_time

RECENT = timedelta(days=30)
READ_TOGETHER = 60


@dataclass(frozen=True, slots=True)
class Unreviewed:
    """recent: days of the last 30, oldest first; older: how many before those.
    within: working days that the plan in force gives a review. overdue: of both, the dairy's holidays left out."""

    recent: tuple[date, ...]
    older: int
    oldest: date | None
    within: int
    overdue: int

    @property
    def count(self) -> int:
        return len(self.recent) + self.older


def unreviewed(premises: Premises, now: datetime) -> Unreviewed:
    """Days before today with records or missed checks that nobody has reviewed as they now stand; constant queries.

    A day is overdue by the time that the plan in force gives: 21 CFR 117.165(a)(4) is one that gives seven working
    days.
    """
    today = premises.local_date(now)
    recent = days_lacking(premises, first=today - RECENT, until=today, now=now)
    revision = revision_in_force(premises, now)
    within = revision.records_reviewed_within if revision else REVIEW_WITHIN_WORKING_DAYS
    in_time = oldest_in_time(today, within, holidays=free_days_of(premises))
    old = DayLeftUnreviewed.objects.filter(premises=premises, day__lt=today - RECENT)
    counted = old.aggregate(count=Count("pk"), oldest=Min("day"), overdue=Count("pk", filter=Q(day__lt=in_time)))
    overdue = counted["overdue"] + sum(day < in_time for day in recent)
    oldest = counted["oldest"] or (recent[0] if recent else None)
    return Unreviewed(tuple(recent), counted["count"], oldest, within, overdue)


def days_lacking(premises: Premises, *, first: date, until: date, now: datetime) -> list[date]:
    """Days in [first, until) that lack a review, oldest first."""
    count = (until - first).days
    if count < 1:
        return []
    lines = day_lines(premises, last=until - timedelta(days=1), count=count, now=now)
    return sorted(line.day for line in lines if line.lacks_review)


@transaction.atomic
def note_old_days(*, premises: Premises, now: datetime) -> int:
    """Notes the days that have grown old without a review. Returns how many. Costs what has grown old since."""
    horizon = premises.local_date(now) - RECENT
    Premises.objects.select_for_update().get(pk=premises.pk)  # no review is signed meanwhile
    mark = PlanningMark.objects.filter(premises=premises).first()
    if mark is None:
        return 0
    start = mark.days_noted_until or premises.local_date(premises.log.opened_at)
    noted = 0
    while start < horizon:
        stop = min(start + timedelta(days=READ_TOGETHER), horizon)
        noted += _note(premises, days_lacking(premises, first=start, until=stop, now=now))
        start = stop
    PlanningMark.objects.filter(premises=premises).update(days_noted_until=start)
    return noted


def days_changed(premises: Premises, moments: Iterable[datetime], now: datetime) -> None:
    """Something about these moments was entered or flagged now: of long ago, their days want a review again."""
    if all(now - moment < RECENT for moment in moments):
        return
    horizon = premises.local_date(now) - RECENT
    _note(premises, {day for moment in moments if (day := premises.local_date(moment)) < horizon})


def day_reviewed(premises: Premises, day: date) -> None:
    DayLeftUnreviewed.objects.filter(premises=premises, day=day).delete()


def _note(premises: Premises, days: Iterable[date]) -> int:
    rows = [DayLeftUnreviewed(premises=premises, day=day) for day in days]
    DayLeftUnreviewed.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)
