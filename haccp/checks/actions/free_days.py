"""The dairy says which days are free, before they come, so that nothing overdue can be made to be in time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import sealing
from haccp.checks.free_days import free_days_listed
from haccp.checks.models import FreeDay
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

AHEAD = timedelta(days=800)
MOST = 200


@dataclass(frozen=True, slots=True)
class DaySaid:
    """is_free False: a working day after all."""

    id: UUID
    day: date
    name: str = ""
    is_free: bool = True


@transaction.atomic
def free_days_say(*, scope: Scope, days: Sequence[DaySaid], now: datetime | None = None) -> list[FreeDay]:
    """Says of days whether they are free; they then do not count as working days.

    Moves: lock the premises; write and seal a row for each day of which something else stands so far. Raises
    ActionError for none, a day that is past (a review that is overdue stays so), one too far ahead, or a free day
    without a name; Conflict for other content under an id. Returns the rows that stand of these days now.
    """
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    _refuse(premises, days, now)
    sent = FreeDay.objects.in_bulk([one.id for one in days])
    standing = {row.day: row for row in free_days_listed(premises)}
    return [
        row
        for one in days
        if (row := _kept(premises, sent.get(one.id), one) or _say(scope, standing.get(one.day), one, now)) is not None
    ]


def _kept(premises: Premises, row: FreeDay | None, said: DaySaid) -> FreeDay | None:
    if row is None:
        return None
    if (row.premises_id, row.day, row.is_free, row.name) != (premises.pk, said.day, said.is_free, said.name.strip()):
        raise Conflict("This day was already sent with other content; send it under a new id.")
    return row


def _say(scope: Scope, standing: FreeDay | None, said: DaySaid, now: datetime) -> FreeDay | None:
    name = said.name.strip() if said.is_free else ""
    if (standing.name if standing is not None else "") == name:
        return standing  # it stands so already
    row = FreeDay.objects.create(
        id=said.id,
        premises=scope.premises,
        day=said.day,
        is_free=said.is_free,
        name=name,
        said_at=now,
        said_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="calendar.free_day",
        subject=f"free_day:{row.id}",
        body=sealing.free_day_body(row),
        actor=scope.actor,
        at=now,
    )
    return row


def _refuse(premises: Premises, days: Sequence[DaySaid], now: datetime) -> None:
    today = premises.local_date(now)
    if not days:
        raise ActionError("Choose a holiday, or type a day with its name.", field="day")
    if len(days) > MOST:
        raise ActionError(f"Send at most {MOST} days at once.", field="day")
    for one in days:
        if one.day < today:
            raise ActionError(
                f"{one.day} is past: a holiday is said before it comes, so that a review that is overdue stays so.",
                field="day",
            )
        if one.day - today > AHEAD:
            raise ActionError(f"{one.day} is more than two years ahead; say it when it is nearer.", field="day")
        if one.is_free and not one.name.strip():
            raise ActionError("Give the day a name, such as “village fair”.", field="name")
