"""The first page: what must I do now?"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from haccp.checks import queries
from haccp.checks.closed import effective_last, period_on
from haccp.checks.cover import uncovered
from haccp.checks.forms.entries import LimitShown, limits_shown
from haccp.checks.judging import limits_of
from haccp.checks.models import DueCheck, Record
from haccp.checks.other_work import other_work
from haccp.checks.queries import Round
from haccp.checks.reviewing import unreviewed
from haccp.lots.queries import held_count
from haccp.plan.queries import review_due_of
from haccp.premises.models import Place, User
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

# A review takes some preparing: people, records, the trend of deviations. Common practice, no source.
REVIEW_LOOKS_AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class DueLine:
    due: DueCheck
    limits: tuple[LimitShown, ...]
    last: Record | None


@dataclass(frozen=True, slots=True)
class RoundLines:
    place: Place | None
    lines: tuple[DueLine, ...]


@needs(Right.READ)
def today(request: ScopedRequest) -> HttpResponse:
    premises, now = request.scope.premises, timezone.now()
    found = queries.today(premises, now)
    last = queries.last_records([due for one in (*found.late, *found.due, *found.later) for due in one.checks])

    def lines(rounds: Iterable[Round]) -> list[RoundLines]:
        return [
            RoundLines(one.place, tuple(_line(due, last, request.scope.user) for due in one.checks)) for one in rounds
        ]

    day, review = premises.local_date(now), review_due_of(premises, now)
    closed = period_on(premises, day)
    context = {
        "closed": closed,
        "uncovered": uncovered(premises, now),
        "closed_until": effective_last(closed) if closed else None,
        "day": day,
        "today": found,
        "groups": [
            ("late", "Late", lines(found.late)),
            ("due", "Due now", lines(found.due)),
            ("later", "Later today", lines(found.later)),
        ],
        "nothing_now": not found.late and not found.due,
        "unreviewed": unreviewed(premises, now),
        "held_count": held_count(premises),
        "slow": queries.slow_now(premises, now),
        "review": review if review and review.on <= day + REVIEW_LOOKS_AHEAD else None,
        "has_plan": review is not None,
        "other_work": other_work(request.scope, now),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render(request, "checks/today.html", context)


def _line(due: DueCheck, last: dict[UUID, Record], user: User) -> DueLine:
    return DueLine(due, limits_shown(limits_of(due.check_due, due.lot), user), last.get(due.pk))
