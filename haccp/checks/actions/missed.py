"""A check that nobody did, and why."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import consequences, sealing
from haccp.checks.models import DueCheck, MissedCheck, MissedReason
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

SCHEDULE_ACTOR = "schedule"


@transaction.atomic
def missed_flag(*, due_id: UUID, now: datetime) -> MissedCheck | None:
    """Flags one due check as missed, if nobody has settled it meanwhile. Safe under any number of workers.

    missed_at is when the grace ended, whenever the sweep ran. Returns None when somebody else was first.
    """
    due = DueCheck.objects.select_related("premises", "check_due").get(pk=due_id)
    Premises.objects.select_for_update().get(pk=due.premises_id)
    if not DueCheck.objects.filter(pk=due_id, settled_at__isnull=True, grace_ends_at__lte=now).update(settled_at=now):
        return None
    due.settled_at = now
    missed = MissedCheck.objects.create(due=due, missed_at=due.grace_ends_at, flagged_at=now)
    ledger.seal(
        log_id=due.premises.log_id,
        kind="check.missed",
        subject=f"missed:{missed.id}",
        body=sealing.missed_body(missed),
        actor=SCHEDULE_ACTOR,
        at=now,
    )
    consequences.check_missed(missed, now)
    return missed


@transaction.atomic
def missed_reason_give(*, scope: Scope, missed_id: UUID, text: str, now: datetime | None = None) -> MissedReason:
    """Raises ActionError for an empty reason, Conflict when one was given already."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    if not text.strip():
        raise ActionError("Say in a few words why it was not done.", field="text")
    missed = MissedCheck.objects.select_for_update().filter(id=missed_id, due__premises=scope.premises).first()
    if missed is None:
        raise ActionError("There is no such missed check at this dairy.")
    if MissedReason.objects.filter(missed=missed).exists():
        raise Conflict("Somebody has already given the reason.")
    reason = MissedReason.objects.create(missed=missed, text=text.strip(), given_by=scope.user, given_at=now)
    ledger.seal(
        log_id=scope.log_id,
        kind="check.missed_reason",
        subject=f"missed_reason:{reason.id}",
        body=sealing.reason_body(reason),
        actor=scope.actor,
        at=now,
    )
    return reason
