"""Whose check it is, who is away, and who stands in."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.checks import sealing
from haccp.checks.models import Absence, BackAgain, Keeper
from haccp.ledger import actions as ledger
from haccp.plan.models import Check
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Membership, Premises
from haccp.premises.roles import Right, may
from haccp.premises.scope import Scope


@transaction.atomic
def keeper_set(
    *, scope: Scope, keeper_id: UUID, check_id: UUID, membership_id: UUID | None, now: datetime | None = None
) -> Keeper:
    """This person does the check from now on; None: whoever is there. Raises ActionError for a check that is not of
    the plan in force, or a person who may not record here."""
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    there = Keeper.objects.filter(id=keeper_id, premises=scope.premises).first()
    if there is not None:
        return there
    revision = revision_in_force(scope.premises, now)
    check = Check.objects.filter(revision=revision, id=check_id).first() if revision else None
    if check is None:
        raise ActionError("Choose a check of the plan in force.", field="check")
    person = _recording(scope.premises, membership_id, "membership")
    row = Keeper.objects.create(
        id=keeper_id,
        premises=scope.premises,
        check_key=UUID(check.key),
        membership=person,
        said_at=now,
        said_by=scope.user,
    )
    _seal(scope, "cover.keeper", f"keeper:{row.pk}", sealing.keeper_body(row), now)
    return row


@transaction.atomic
def absence_add(
    *,
    scope: Scope,
    absence_id: UUID,
    membership_id: UUID,
    first: date,
    last: date,
    stand_in_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> Absence:
    """Somebody is away, and hands over what they keep: one's own absence, or anybody's for whoever manages.

    Raises ActionError for days that are over or the wrong way round, and a stand-in who may not record or is the
    same person. A stand-in who is away as well is taken: the page says that nobody covers those days.
    """
    scope.require(Right.RECORD)
    if membership_id != scope.membership.pk:
        scope.require(Right.MANAGE)
    now = now or timezone.now()
    there = Absence.objects.filter(id=absence_id, membership__premises=scope.premises).first()
    if there is not None:
        if (there.membership_id, there.first, there.last, there.stand_in_id) != (
            membership_id,
            first,
            last,
            stand_in_id,
        ):
            raise Conflict("This absence was already sent with other content; start a new one.")
        return there
    wrong: dict[str, str] = {}
    if last < first:
        wrong["last"] = "The last day is before the first; exchange the two."
    elif last < scope.premises.local_date(now):
        wrong["last"] = "These days are over."
    if stand_in_id == membership_id:
        wrong["stand_in"] = "Choose somebody else, or nobody."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    person = Membership.objects.filter(premises=scope.premises, id=membership_id, left_at__isnull=True).first()
    if person is None:
        raise ActionError("Choose the person from the list.", field="membership")
    row = Absence.objects.create(
        id=absence_id,
        membership=person,
        first=first,
        last=last,
        stand_in=_recording(scope.premises, stand_in_id, "stand_in"),
        note=note.strip(),
        said_at=now,
        said_by=scope.user,
    )
    _seal(scope, "cover.absence", f"absence:{row.pk}", sealing.absence_body(row), now)
    return row


@transaction.atomic
def absence_end(*, scope: Scope, absence_id: UUID, on: date, now: datetime | None = None) -> BackAgain:
    """Back before the last day: from this day on. Raises ActionError for a day that is not in the absence."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    absence = Absence.objects.filter(id=absence_id, membership__premises=scope.premises).first()
    if absence is None:
        raise ActionError("There is no such absence at this dairy.")
    if absence.membership_id != scope.membership.pk:
        scope.require(Right.MANAGE)
    if hasattr(absence, "back"):
        raise Conflict("Somebody has said already when they are back.")
    if not absence.first <= on <= absence.last or on < scope.premises.local_date(now):
        raise ActionError("Choose today or a later day of the absence.", field="on")
    row = BackAgain.objects.create(absence=absence, on=on, said_at=now, said_by=scope.user)
    _seal(scope, "cover.back", f"back:{row.pk}", sealing.back_body(row), now)
    return row


def _recording(premises: Premises, membership_id: UUID | None, field: str) -> Membership | None:
    if membership_id is None:
        return None
    person = Membership.objects.filter(premises=premises, id=membership_id, left_at__isnull=True).first()
    if person is None or not may(person, Right.RECORD):
        raise ActionError("Choose somebody who may record here.", field=field)
    return person


def _seal(scope: Scope, kind: str, subject: str, body: dict[str, object], at: datetime) -> None:
    ledger.seal(log_id=scope.log_id, kind=kind, subject=subject, body=body, actor=scope.actor, at=at)
