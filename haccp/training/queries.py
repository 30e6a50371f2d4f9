"""Reads about training: what counts today, what runs out soon, what has run out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from haccp.checks.other_work import Work
from haccp.premises.models import Premises
from haccp.premises.queries import people_of
from haccp.premises.scope import Scope
from haccp.training.models import Training

SOON = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Standing:
    """The last training of a person in a subject. is_over, is_soon: it has run out, or does within 30 days."""

    training: Training
    is_over: bool
    is_soon: bool


def trainings_of(premises: Premises) -> QuerySet[Training]:
    """All of them, the latest first; leavers' too."""
    return Training.objects.filter(premises=premises).select_related("person", "recorded_by")


def standings(premises: Premises, today: date) -> list[Standing]:
    """Of everybody who works here now, by name and subject: the training that counts longest. One query."""
    here = people_of(premises).order_by().values("pk")
    return [
        Standing(
            one,
            is_over=one.valid_until is not None and one.valid_until < today,
            is_soon=one.valid_until is not None and today <= one.valid_until <= today + SOON,
        )
        for one in _in_force(trainings_of(premises).filter(person__in=here))
    ]


def _in_force(found: Iterable[Training]) -> list[Training]:
    """By person and subject, however it is written; one that does not run out goes before any that does."""
    best: dict[tuple[str, str], Training] = {}
    for one in found:
        key = (str(one.person_id), one.subject.casefold())
        there = best.get(key)
        if there is None or _lasts(one) > _lasts(there):
            best[key] = one
    return sorted(best.values(), key=lambda one: (one.person.name, one.subject))


def _lasts(one: Training) -> tuple[date, datetime]:
    return one.valid_until or date.max, one.recorded_at


def ending_soon(scope: Scope, now: datetime) -> list[Work]:
    """For the first page: what has run out or does within 30 days, of who works here."""
    today = scope.premises.local_date(now)
    return [
        Work(
            one.training.valid_until or today,
            f"{one.training}: training {'has run out' if one.is_over else 'ends'}",
            "training:overview",
            owner=one.training.person.name,
        )
        for one in standings(scope.premises, today)
        if one.is_over or one.is_soon
    ]


def subjects_of(premises: Premises) -> list[str]:
    """What was ever taught here, to choose from."""
    found = Training.objects.filter(premises=premises).order_by("subject").values_list("subject", flat=True)
    return list(dict.fromkeys(found))
