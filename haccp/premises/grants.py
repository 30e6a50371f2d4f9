"""Roles given and ended: each a sealed row. The actions that people use stand in premises.actions and haccp.access."""

from datetime import datetime

from haccp.ledger import actions as ledger
from haccp.ledger.sealed_rows import subject_of
from haccp.premises import sealing
from haccp.premises.models import DeviceToken, Membership, Premises, User
from haccp.premises.scope import Scope


def first(*, user: User, premises: Premises, at: datetime) -> Membership:
    """The owner with whom a dairy is opened: given by nobody before."""
    membership = Membership.objects.create(user=user, premises=premises, role=Membership.Role.OWNER, since=at)
    _seal(Scope(membership), membership, sealing.GIVEN, at)
    return membership


def give(
    *,
    scope: Scope,
    user: User,
    role: str,
    at: datetime,
    given_by: User | None = None,
    until: datetime | None = None,
) -> Membership:
    """A role for a person who has none here. scope: who acts; given_by: whose decision it was, the actor's unless
    said. Errors: IntegrityError where the person has a role here; the caller has looked behind the lock."""
    membership = Membership.objects.create(
        user=user, premises=scope.premises, role=role, since=at, given_by=given_by or scope.user, until=until
    )
    _seal(scope, membership, sealing.GIVEN, at)
    return membership


def end(*, scope: Scope, membership: Membership, at: datetime) -> bool:
    """Ends a role. False where it was ended before."""
    ended = Membership.objects.filter(pk=membership.pk, left_at__isnull=True).update(left_at=at, ended_by=scope.user)
    if ended:
        membership.left_at, membership.ended_by = at, scope.user
        _seal(scope, membership, sealing.ENDED, at)
    return bool(ended)


def change(*, scope: Scope, membership: Membership, role: str, at: datetime) -> Membership:
    """Ends a role and gives another at the same moment; the person's devices go over to it."""
    end(scope=scope, membership=membership, at=at)
    following = give(scope=scope, user=membership.user, role=role, at=at)
    DeviceToken.objects.filter(membership=membership, revoked_at__isnull=True).update(membership=following)
    return following


def _seal(scope: Scope, membership: Membership, kind: str, at: datetime) -> None:
    body = sealing.given_body if kind == sealing.GIVEN else sealing.ended_body
    ledger.seal(
        log_id=scope.log_id,
        kind=kind,
        subject=subject_of(sealing.PREFIX, membership),
        body=body(membership),
        actor=scope.actor,
        at=at,
    )
