"""Writes about visit packs: ask for one, cancel it. The making is making.pack_make."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.background.hand_over import hand_over
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.reports import tasks
from haccp.reports.choosing import own_days, words_of
from haccp.reports.gather.choice import Choice
from haccp.reports.languages import DEFAULT, LANGUAGES
from haccp.reports.making import pack_make
from haccp.reports.models import VisitPack

__all__ = ["pack_cancel", "pack_make", "pack_request"]

LONGEST_DAYS = 366


@transaction.atomic
def pack_request(
    *,
    scope: Scope,
    pack_id: UUID,
    period_from: date,
    period_to: date,
    choice: Choice | None = None,
    site: str = "",
    language: str = DEFAULT,
    now: datetime | None = None,
) -> VisitPack:
    """Asks for a pack of local days, both ends included; it is made in the background.

    choice: the part of the records that it shows; chosen batches and deviations bring their own days, from their
    first to today. site: the address under which the service was reached, for QR codes. language: one of LANGUAGES.
    Moves: give back the pack already there under pack_id; check choice and period; write the row; hand the making
    over after commit. Raises ActionError for a choice that is not of this dairy and for a period that runs backwards,
    lies in the future or is longer than 366 days, Conflict when the id carries another period or choice.
    """
    scope.require(Right.READ)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    wanted = choice or Choice()
    if language not in dict(LANGUAGES):
        raise ActionError("There is no such language; choose one from the list.", field="language")
    words = words_of(scope.premises, wanted)
    today = scope.premises.local_date(now)
    if wanted.sets_period:
        period_from, period_to = own_days(scope.premises, wanted, today)
    there = VisitPack.objects.filter(pk=pack_id).first()
    if there is not None:
        return _already(scope, there, (period_from, period_to, wanted.to_json(), language))
    if not wanted.sets_period:
        _check_period(period_from, period_to, today)
    pack = VisitPack.objects.create(
        id=pack_id,
        premises=scope.premises,
        period_from=period_from,
        period_to=period_to,
        choice=wanted.to_json(),
        choice_words=words,
        language=language,
        site=site.rstrip("/"),
        requested_at=now,
        requested_by=scope.user,
    )
    hand_over(tasks.make_pack, str(pack.id))
    return pack


@transaction.atomic
def pack_cancel(*, scope: Scope, pack_id: UUID, now: datetime | None = None) -> VisitPack:
    """Stops a pack that is not finished; whoever makes it stops at its next word of progress.

    Raises ActionError for a pack that is not of this dairy, Conflict when it has ended already.
    """
    scope.require(Right.READ)
    mine = VisitPack.objects.for_premises(scope.premises).filter(pk=pack_id)
    if not mine.exists():
        raise ActionError("There is no such pack at this dairy.")
    if mine.unfinished().update(cancelled_at=now or timezone.now(), stage="") != 1:
        raise Conflict("This pack has ended already; there is nothing to cancel.")
    return mine.get()


def _check_period(period_from: date, period_to: date, today: date) -> None:
    if period_to < period_from:
        raise ActionError("The period ends before it begins; swap the two days.", field="period_to")
    if period_from > today:
        raise ActionError("The period lies in the future; there is nothing to print yet.", field="period_from")
    if period_to > today:
        raise ActionError(f"The period ends in the future; today is {today.isoformat()}.", field="period_to")
    length = (period_to - period_from).days + 1
    if length > LONGEST_DAYS:
        raise ActionError(
            f"That is {length} days; a pack holds at most {LONGEST_DAYS}. Ask for two packs.", field="period_from"
        )


def _already(scope: Scope, there: VisitPack, asked: tuple[date, date, dict[str, Any], str]) -> VisitPack:
    is_same = (there.period_from, there.period_to, there.choice, there.language) == asked
    if there.premises_id != scope.premises.id or not is_same:
        raise Conflict("This pack was already asked for with another period or choice; open the form anew.")
    return there
