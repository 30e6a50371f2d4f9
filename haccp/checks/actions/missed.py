"""A check that nobody did, and why."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import consequences, sealing
from haccp.checks.models import DueCheck, MissedCheck, MissedReason
from haccp.ledger import actions as ledger
from haccp.ledger.actions import Sealing
from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

SCHEDULE_ACTOR = "schedule"


@transaction.atomic
def missed_flag(*, due_ids: Sequence[UUID], now: datetime) -> list[MissedCheck]:
    """Flags due checks as missed, those that nobody has settled meanwhile. Safe under any number of workers.

    Moves: lock the premises in the order of their ids; settle the checks by compare-and-set; write and seal one
    missed check for each; let the consequences follow. missed_at is when the grace ended, whenever the sweep ran.
    All or none: one that fails undoes the others of the same call.
    """
    asked = DueCheck.objects.filter(pk__in=due_ids)
    ids = set(asked.values_list("premises_id", flat=True))
    premises = {one.pk: one for one in Premises.objects.select_for_update().filter(pk__in=ids).order_by("pk")}
    dues = list(asked.past_grace(now).order_by("grace_ends_at", "pk"))
    # Many dues share a check: each is read once.
    checks = Check.objects.select_related("control_point", "place").in_bulk({due.check_due_id for due in dues})
    lots = Lot.objects.in_bulk({due.lot_id for due in dues if due.lot_id})
    for due in dues:
        due.premises, due.check_due = premises[due.premises_id], checks[due.check_due_id]
        if due.lot_id:
            due.lot = lots[due.lot_id]
    settled = DueCheck.objects.filter(pk__in=[due.pk for due in dues], settled_at__isnull=True).update(settled_at=now)
    if settled != len(dues):
        raise Conflict("Some of these checks were settled meanwhile; nothing was flagged, the next sweep looks again.")
    found = [MissedCheck(due=due, missed_at=due.grace_ends_at, flagged_at=now) for due in dues]
    MissedCheck.objects.bulk_create(found, batch_size=500)
    sealings: dict[UUID, list[Sealing]] = defaultdict(list)
    for missed in found:
        fact = Sealing("check.missed", f"missed:{missed.id}", sealing.missed_body(missed))
        sealings[missed.due.premises.log_id].append(fact)
    if sealings:
        ledger.seal_across(sealings, actor=SCHEDULE_ACTOR, at=now)
    for missed in found:
        missed.due.settled_at = now
        consequences.check_missed(missed, now)
    return found


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
