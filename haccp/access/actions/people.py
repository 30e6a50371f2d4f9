"""Roles changed and ended, and further premises of the same producer."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.premises import grants
from haccp.premises.errors import ActionError
from haccp.premises.models import DeviceToken, Membership, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

LAST_OWNER = "A dairy needs an owner: make somebody else an owner first."


@transaction.atomic
def role_change(*, scope: Scope, membership_id: UUID, role: str, at: datetime | None = None) -> Membership:
    """Gives a person here another role; what they did under the old one stays theirs, as it was.

    Raises ActionError for somebody who is not here (any more), on "role" for one that is none, or for the last owner.
    """
    scope.require(Right.MANAGE)
    membership = _locked(scope, membership_id)
    if role not in Membership.Role.values or role == Membership.Role.INSPECTOR:
        raise ActionError("Choose one of the roles.", field="role")
    if role == membership.role:
        return membership
    _keep_an_owner(membership, field="role")
    return grants.change(scope=scope, membership=membership, role=role, at=at or timezone.now())


@transaction.atomic
def person_leave(*, scope: Scope, membership_id: UUID, at: datetime | None = None) -> Membership:
    """Ends a person's role here: their own, or anybody's for the owner. Their records, signatures and name stay;
    their devices can no longer sign in. Raises ActionError for somebody not here, or the last owner."""
    if membership_id != scope.membership.id:
        scope.require(Right.MANAGE)
    membership = _locked(scope, membership_id)
    _keep_an_owner(membership)
    at = at or timezone.now()
    grants.end(scope=scope, membership=membership, at=at)
    DeviceToken.objects.filter(membership=membership, revoked_at__isnull=True).update(revoked_at=at)
    return membership


def _locked(scope: Scope, membership_id: UUID) -> Membership:
    """One change of people at a time, or two owners could each remove the other."""
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    found = Membership.objects.select_related("user", "premises").filter(
        pk=membership_id, premises=scope.premises, left_at__isnull=True
    )
    membership = found.first()
    if membership is None:
        raise ActionError("This person has no role here any more.")
    return membership


def _keep_an_owner(membership: Membership, *, field: str = "") -> None:
    if membership.role != Membership.Role.OWNER:
        return
    others = Membership.objects.filter(
        premises=membership.premises_id, role=Membership.Role.OWNER, left_at__isnull=True, user__is_active=True
    ).exclude(pk=membership.pk)
    if not others.exists():
        raise ActionError(LAST_OWNER, field=field)
