"""Who was trained in what, as far as it counted in the period."""

from datetime import datetime, time
from typing import Any

from django.db.models import Q, QuerySet

from haccp.reports.dates import day_words
from haccp.reports.gather.journal import Source, Told
from haccp.reports.gather.scope import PackScope
from haccp.training.models import Training


def _trainings(scope: PackScope) -> QuerySet[Any]:
    """Given by the last day, and not run out before the first."""
    counts = Q(valid_until__isnull=True) | Q(valid_until__gte=scope.period.first_day)
    rows = Training.objects.filter(counts, premises=scope.period.premises_id, given_on__lte=scope.period.last_day)
    found = rows if scope.choice.is_whole else rows.none()
    return found.select_related("person", "recorded_by").order_by("given_on", "recorded_at", "id")


def _training(row: Training, scope: PackScope) -> Told:
    ran_out = row.valid_until is not None and row.valid_until < scope.period.last_day
    until = f"counts until {day_words(row.valid_until)}" if row.valid_until else "does not run out"
    parts = [f"{row.subject}, by {row.given_by}; {until}", row.note]
    return Told(
        datetime.combine(row.given_on, time(12), scope.period.zone),
        "trained, since run out" if ran_out else "trained",
        row.person.name,
        "\n".join(filter(None, parts)),
        row.recorded_by.name,
        is_bad=ran_out,
    )


TRAININGS = (Source("training", _trainings, _training),)
