"""The dairy says when it is closed, before it is, so that nothing already due can be made to disappear."""

from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import sealing
from haccp.checks.actions.plan_due import replan_from
from haccp.checks.closed import calendar_of
from haccp.checks.models import ClosedPeriod, Reopening
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

LONGEST = timedelta(days=366)


@transaction.atomic
def closed_period_add(
    *,
    scope: Scope,
    period_id: UUID,
    without: str,
    first: date,
    last: date,
    reason: str,
    now: datetime | None = None,
) -> ClosedPeriod:
    """Says that no milk comes in, or no cheese is made, from `first` to `last` (local days, inclusive).

    Moves: lock the premises; write and seal the period; take back what was planned in it and nobody has done.
    Raises ActionError for a period that begins today or earlier (what is due already stays due), one without a
    reason, one that ends before it begins, and one that overlaps another of its kind.
    """
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = ClosedPeriod.objects.filter(id=period_id).first()
    if there is not None:
        kept = (there.premises_id, there.without, there.first, there.last, there.reason)
        if kept != (premises.pk, without, first, last, reason.strip()):
            raise Conflict("This period was already sent with other content; start a new one.")
        return there
    _refuse(premises, without, first, last, reason, now)
    period = ClosedPeriod.objects.create(
        id=period_id,
        premises=premises,
        without=without,
        first=first,
        last=last,
        reason=reason.strip(),
        said_at=now,
        said_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="calendar.closed",
        subject=f"closed_period:{period.id}",
        body=sealing.closed_body(period),
        actor=scope.actor,
        at=now,
    )
    replan_from(premises=premises, moment=_start_of(premises, first))
    return period


@transaction.atomic
def reopening_add(*, scope: Scope, period_id: UUID, on: date, now: datetime | None = None) -> Reopening:
    """Starts again on a day before the period ends; checks are due from that day on.

    Raises ActionError for a day that has begun already or that is not in the period, Conflict when it was said.
    """
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    period = ClosedPeriod.objects.filter(premises=premises, id=period_id).first()
    if period is None:
        raise ActionError("There is no such closed period at this dairy.")
    if hasattr(period, "reopening"):
        raise Conflict("Somebody has said already when the dairy starts again.")
    if on <= premises.local_date(now):
        raise ActionError("Checks can be due from tomorrow on; do those of today as extra checks.", field="on")
    if not period.first <= on <= period.last:
        raise ActionError(f"Choose a day of the period, {period.first} to {period.last}.", field="on")
    reopening = Reopening.objects.create(period=period, on=on, said_at=now, said_by=scope.user)
    ledger.seal(
        log_id=scope.log_id,
        kind="calendar.reopened",
        subject=f"reopening:{reopening.id}",
        body=sealing.reopening_body(reopening),
        actor=scope.actor,
        at=now,
    )
    replan_from(premises=premises, moment=_start_of(premises, on))
    return reopening


def _refuse(premises: Premises, without: str, first: date, last: date, reason: str, now: datetime) -> None:
    wrong: dict[str, str] = {}
    if without not in ClosedPeriod.Without.values:
        wrong["without"] = "Choose what the dairy is without."
    if first <= premises.local_date(now):
        wrong["first"] = "A closed period begins tomorrow at the earliest: what is due already stays due."
    if last < first:
        wrong["last"] = "The last day is before the first; exchange the two."
    elif last - first > LONGEST:
        wrong["last"] = "A closed period lasts a year at most; say the next one when it comes."
    if not reason.strip():
        wrong["reason"] = "Say why in a few words, such as “ewes are dry”."
    overlapping = [
        one for one in calendar_of(premises).periods if one[0] == without and one[1] <= last and one[2] >= first
    ]
    if overlapping:
        wrong["first"] = f"{overlapping[0][1]} to {overlapping[0][2]} is a closed period already; leave those days out."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)


def _start_of(premises: Premises, day: date) -> datetime:
    return datetime.combine(day, time.min, tzinfo=premises.zone)
