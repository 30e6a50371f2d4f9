"""A check that nobody did, and why."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import consequences, sealing
from haccp.checks.models import DueCheck, MissedCheck, MissedReason
from haccp.checks.models.due import DueQuerySet
from haccp.checks.reviewing import RECENT, days_changed
from haccp.ledger import actions as ledger
from haccp.ledger.actions import Sealing
from haccp.ledger.bulk import among, insert
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
    asked = DueCheck.objects.filter(pk__in=among(due_ids))
    # no_key: rows that refer to the premises may be added meanwhile.
    here = Premises.objects.filter(pk__in=asked.values("premises_id"))
    locked = here.select_for_update(no_key=True).order_by("pk")
    log_of = dict(locked.values_list("pk", "log_id"))
    dues = list(asked.past_grace(now).order_by("grace_ends_at", "pk"))
    # Many dues share a check: each is read once.
    checks = Check.objects.select_related("control_point", "place").in_bulk({due.check_due_id for due in dues})
    lots = Lot.objects.in_bulk({due.lot_id for due in dues if due.lot_id})
    for due in dues:
        due.check_due = checks[due.check_due_id]
        if due.lot_id:
            due.lot = lots[due.lot_id]
    to_settle = DueCheck.objects.unsettled().filter(pk__in=among([due.pk for due in dues]))
    if to_settle.update(settled_at=now, reason_wanted=True) != len(dues):
        raise Conflict("Some of these checks were settled meanwhile; nothing was flagged, the next sweep looks again.")
    found = [MissedCheck(due=due, missed_at=due.grace_ends_at, flagged_at=now) for due in dues]
    insert(found)
    sealings: dict[UUID, list[Sealing]] = defaultdict(list)
    for missed in found:
        fact = Sealing("check.missed", f"missed:{missed.id}", sealing.missed_body(missed))
        sealings[log_of[missed.due.premises_id]].append(fact)
        missed.due.settled_at = now
    if sealings:
        ledger.seal_across(sealings, actor=SCHEDULE_ACTOR, at=now)
    _note_changed_days(dues, now)
    consequences.checks_missed(found, now)
    return found


def _note_changed_days(dues: Sequence[DueCheck], now: datetime) -> None:
    old: dict[UUID, list[datetime]] = defaultdict(list)
    for due in dues:
        if now - due.due_at >= RECENT:
            old[due.premises_id].append(due.due_at)
    for premises in Premises.objects.filter(pk__in=old):
        days_changed(premises, old[premises.pk], now)


def flag_past_grace(dues: DueQuerySet, now: datetime) -> list[MissedCheck]:
    """Flags those of these due checks, of one premises, that are past their grace, as a sweep would have done by now.

    Called before anything is written that settles, takes back or signs over them: so the flags follow from the plan
    and the events alone, and not from when a sweep happened to run. The caller is in a transaction and has locked the
    premises.
    """
    ids = list(dues.past_grace(now).order_by("grace_ends_at", "pk").values_list("pk", flat=True))
    return missed_flag(due_ids=ids, now=now) if ids else []


@transaction.atomic
def missed_reason_give(*, scope: Scope, missed_id: UUID, text: str, now: datetime | None = None) -> MissedReason:
    """As `missed_reasons_give`, of one. Raises Conflict when a reason was given already."""
    given = missed_reasons_give(scope=scope, missed_ids=[missed_id], text=text, now=now)
    if not given:
        raise Conflict("Somebody has already given the reason.")
    return given[0]


@transaction.atomic
def missed_reasons_give(
    *, scope: Scope, missed_ids: Collection[UUID], text: str, now: datetime | None = None
) -> list[MissedReason]:
    """One reason for one or many missed checks; each gets a row of its own and is sealed by itself.

    Moves: lock the premises; find the missed checks here; write and seal a reason for each that has none; settle what
    wanted one. Those that have a reason keep it. Raises ActionError for an empty reason, for none chosen, and for one
    that is not of this dairy.
    """
    scope.require(Right.RECORD)
    if not text.strip():
        raise ActionError("Say in a few words why it was not done.", field="text")
    if not missed_ids:
        raise ActionError("Choose what the reason is for.", field="missed")
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    asked = set(missed_ids)
    found = list(
        MissedCheck.objects.filter(pk__in=among(asked), due__premises=scope.premises)
        .select_related("due", "reason")
        .order_by("missed_at", "pk")
    )
    if len(found) != len(asked):
        raise ActionError("There is no such missed check at this dairy.", field="missed")
    unanswered = [one for one in found if not hasattr(one, "reason")]
    given = [MissedReason(missed=one, text=text.strip(), given_by=scope.user, given_at=now) for one in unanswered]
    insert(given)
    DueCheck.objects.filter(pk__in=among([one.due_id for one in unanswered])).update(reason_wanted=False)
    facts = [Sealing("check.missed_reason", f"missed_reason:{one.id}", sealing.reason_body(one)) for one in given]
    if facts:
        ledger.seal_many(log_id=scope.log_id, sealings=facts, actor=scope.actor, at=now)
    days_changed(scope.premises, [one.due.due_at for one in unanswered], now)
    return given
