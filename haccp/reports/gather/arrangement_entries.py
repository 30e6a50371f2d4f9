"""Who kept which check, who was away, when the dairy was closed, and what called for a review of the plan."""

from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from haccp.checks.models import Absence, BackAgain, ClosedPeriod, FreeDay, Keeper, Reopening
from haccp.plan.models import Check, ReviewOccasion
from haccp.reports.dates import day_words
from haccp.reports.gather.journal import Source, Told, in_period, on_days
from haccp.reports.gather.scope import PackScope


def _keepers(scope: PackScope) -> QuerySet[Any]:
    rows = Keeper.objects.filter(premises=scope.period.premises_id)
    return in_period(scope, rows, "said_at").select_related("membership__user", "said_by")


def _keeper(row: Keeper, scope: PackScope) -> Told:
    who = row.membership.user.name if row.membership else "whoever is there"
    return Told(row.said_at, "check given to", who, _check_name(row.check_key, scope), row.said_by.name)


def _check_name(key: UUID, scope: PackScope) -> str:
    found = Check.objects.filter(Q(origin=key) | Q(pk=key), control_point__revision__premises=scope.period.premises_id)
    return found.order_by("-control_point__revision__number").values_list("name", flat=True).first() or ""


def _absences(scope: PackScope) -> QuerySet[Any]:
    """Those that overlap the period."""
    rows = Absence.objects.filter(
        membership__premises=scope.period.premises_id,
        first__lte=scope.period.last_day,
        last__gte=scope.period.first_day,
    )
    found = rows if scope.choice.is_whole else rows.none()
    return found.select_related("membership__user", "stand_in__user", "said_by")


def _absence(row: Absence, scope: PackScope) -> Told:
    instead = f"; {row.stand_in.user.name} stands in" if row.stand_in else "; nobody stands in"
    note = f". {row.note}" if row.note else ""
    text = f"{day_words(row.first)} to {day_words(row.last)}{instead}{note}"
    return Told(row.said_at, "away", row.membership.user.name, text, row.said_by.name)


def _returns(scope: PackScope) -> QuerySet[Any]:
    rows = BackAgain.objects.filter(absence__in=_absences(scope).order_by().values("pk"))
    return rows.select_related("absence__membership__user", "said_by")


def _return(row: BackAgain, scope: PackScope) -> Told:
    about = row.absence.membership.user.name
    return Told(row.said_at, "back again", about, f"from {day_words(row.on)} on", row.said_by.name)


def _closed(scope: PackScope) -> QuerySet[Any]:
    """Those that overlap the period."""
    rows = ClosedPeriod.objects.filter(
        premises=scope.period.premises_id, first__lte=scope.period.last_day, last__gte=scope.period.first_day
    )
    return (rows if scope.choice.is_whole else rows.none()).select_related("said_by")


def _closed_period(row: ClosedPeriod, scope: PackScope) -> Told:
    text = f"{day_words(row.first)} to {day_words(row.last)}: {row.reason}"
    return Told(row.said_at, "closed", str(row.get_without_display()), text, row.said_by.name)


def _reopenings(scope: PackScope) -> QuerySet[Any]:
    return Reopening.objects.filter(period__in=_closed(scope).order_by().values("pk")).select_related("said_by")


def _reopening(row: Reopening, scope: PackScope) -> Told:
    return Told(row.said_at, "open again", "", f"from {day_words(row.on)} on", row.said_by.name)


def _free_days(scope: PackScope) -> QuerySet[Any]:
    """Days of the period of which something was said."""
    return on_days(scope, FreeDay.objects.filter(premises=scope.period.premises_id), "day").select_related("said_by")


def _free_day(row: FreeDay, scope: PackScope) -> Told:
    text = row.name if row.is_free else "a working day after all"
    return Told(row.said_at, "holiday", day_words(row.day), text, row.said_by.name)


def _occasions(scope: PackScope) -> QuerySet[Any]:
    rows = ReviewOccasion.objects.filter(premises=scope.period.premises_id)
    return in_period(scope, rows, "occurred_at").select_related("recorded_by")


def _occasion(row: ReviewOccasion, scope: PackScope) -> Told:
    kind = str(row.get_kind_display())
    return Told(row.occurred_at, "calls for a review of the plan", kind, row.description, row.recorded_by.name)


ARRANGEMENTS = (
    Source("keeper", _keepers, _keeper),
    Source("absence", _absences, _absence),
    Source("back", _returns, _return),
    Source("closed_period", _closed, _closed_period),
    Source("reopening", _reopenings, _reopening),
    Source("free_day", _free_days, _free_day),
    Source("review_occasion", _occasions, _occasion),
)
