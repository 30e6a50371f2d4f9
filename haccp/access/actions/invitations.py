"""Asking people in: an invitation by e-mail, taken up once, before it expires."""

import secrets
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from haccp.access import sealing
from haccp.access.models import Invitation
from haccp.ledger import actions as ledger
from haccp.ledger.sealed_rows import subject_of
from haccp.premises import grants
from haccp.premises.api_access import hash_token
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Membership, Premises, User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def invitation_send(
    *, scope: Scope, email: str, role: str, name: str = "", at: datetime | None = None
) -> tuple[Invitation, str]:
    """Offers a role here. Returns the invitation, and its token, which is not kept.

    Moves: lock the premises; refuse somebody who is here already; withdraw an earlier open invitation to the same
    address; write and seal the new one. The caller sends the mail after commit.
    Raises ActionError on "role" or "email".
    """
    scope.require(Right.MANAGE)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    at = at or timezone.now()
    email = email.strip().lower()
    if role not in Membership.Role.values or role == Membership.Role.INSPECTOR:
        raise ActionError("Choose one of the roles.", field="role")
    if Membership.objects.filter(premises=scope.premises, user__email=email, left_at__isnull=True).exists():
        raise ActionError("This person has a role here already: change it on the page of people.", field="email")
    for earlier in Invitation.objects.filter(
        premises=scope.premises, email=email, accepted_at__isnull=True, withdrawn_at__isnull=True
    ):
        _withdraw(scope, earlier, at)
    token = secrets.token_urlsafe(32)
    invitation = Invitation.objects.create(
        premises=scope.premises,
        email=email,
        name=name.strip(),
        role=role,
        token_sha256=hash_token(token),
        invited_by=scope.user,
        invited_at=at,
        expires_at=at + timedelta(days=settings.INVITATION_DAYS),
    )
    _seal(scope, invitation, sealing.SENT, sealing.invitation_body(invitation), at)
    return invitation, token


@transaction.atomic
def invitation_withdraw(*, scope: Scope, invitation_id: UUID, at: datetime | None = None) -> Invitation:
    """Ends an invitation that was not taken up. Raises ActionError where there is none, Conflict where it was."""
    scope.require(Right.MANAGE)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    invitation = Invitation.objects.filter(pk=invitation_id, premises=scope.premises).first()
    if invitation is None:
        raise ActionError("There is no such invitation here.")
    if invitation.accepted_at is not None:
        raise Conflict("This invitation was taken up meanwhile: end the person's role instead.")
    _withdraw(scope, invitation, at or timezone.now())
    return invitation


@transaction.atomic
def invitation_accept(
    *, token: str, user: User | None = None, name: str = "", password: str = "", at: datetime | None = None
) -> Membership:
    """Takes up an invitation: once, before it expires, by the person it was sent to.

    user: somebody signed in, whose address must be the invited one; without one, a new person with this name and
    password. Raises ActionError for an invitation that is not open, on "name" or "password" for a new person; and
    Conflict where somebody already signs in with the address, for whoever holds the link is not proven to be them.
    """
    at = at or timezone.now()
    invitation = open_invitation(token, at)
    if invitation is None:
        raise ActionError("This invitation was used, withdrawn or has expired. Ask the owner of the dairy for another.")
    Premises.objects.select_for_update().get(pk=invitation.premises_id)
    # Compare-and-set: of two who open the link at once, one comes in.
    if not Invitation.objects.filter(pk=invitation.pk, accepted_at__isnull=True, withdrawn_at__isnull=True).update(
        accepted_at=at
    ):
        raise Conflict("This invitation was used a moment ago.")
    person = user if user is not None else _new_person(invitation, name, password, at)
    if person.email != invitation.email:
        raise ActionError(
            f"This invitation is for another address than {person.email}. Sign out, and open the link again."
        )
    if Membership.objects.filter(premises=invitation.premises_id, user=person, left_at__isnull=True).exists():
        raise Conflict("You have a role at this dairy already.")
    offered = Membership(user=person, premises=invitation.premises, role=invitation.role)
    membership = grants.give(
        scope=Scope(offered), user=person, role=invitation.role, at=at, given_by=invitation.invited_by
    )
    Invitation.objects.filter(pk=invitation.pk).update(membership=membership)
    return membership


def open_invitation(token: str, at: datetime) -> Invitation | None:
    """The invitation of a link, while it can be taken up."""
    found = Invitation.objects.select_related("premises", "invited_by").filter(token_sha256=hash_token(token)).first()
    return found if found is not None and found.is_open(at) else None


def _new_person(invitation: Invitation, name: str, password: str, at: datetime) -> User:
    if User.objects.filter(email=invitation.email).exists():
        raise Conflict("Somebody signs in with this address already. Sign in first, then open the link again.")
    name = name.strip()
    if not name:
        raise ActionError("Give your name as it is to be printed beside what you sign.", field="name")
    try:
        validate_password(password, User(email=invitation.email, name=name))
    except ValidationError as error:
        raise ActionError(" ".join(error.messages), field="password") from None
    return User.objects.create_user(email=invitation.email, name=name, password=password, joined_at=at)


def _withdraw(scope: Scope, invitation: Invitation, at: datetime) -> None:
    if Invitation.objects.filter(pk=invitation.pk, withdrawn_at__isnull=True, accepted_at__isnull=True).update(
        withdrawn_at=at
    ):
        _seal(scope, invitation, "invitation.withdrawn", {"role": invitation.role}, at)


def _seal(scope: Scope, invitation: Invitation, kind: str, body: dict[str, object], at: datetime) -> None:
    ledger.seal(
        log_id=scope.log_id,
        kind=kind,
        subject=subject_of(sealing.PREFIX, invitation),
        body=body,
        actor=scope.actor,
        at=at,
    )
