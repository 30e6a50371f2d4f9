"""Inspectors: a link that lets whoever opens it read one dairy, for a while."""

import secrets
import uuid
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.access.models import VisitorLink
from haccp.premises import grants
from haccp.premises.api_access import hash_token
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership, User
from haccp.premises.roles import Right, may
from haccp.premises.scope import Scope

LONGEST_DAYS = 31


@transaction.atomic
def visitor_admit(*, scope: Scope, name: str, days: int, at: datetime | None = None) -> tuple[VisitorLink, str]:
    """Makes a link for a visitor. Returns it, and its token of 256 random bits, which is not kept.

    Moves: a person who can never sign in with a password; the role of inspector until the end, sealed; the link.
    Raises ActionError on "name" or "days".
    """
    scope.require(Right.MANAGE)
    at = at or timezone.now()
    if not name.strip():
        raise ActionError("Say who visits, such as “A. Byrne, county food office”.", field="name")
    if not 1 <= days <= LONGEST_DAYS:
        raise ActionError(f"A link works for 1 to {LONGEST_DAYS} days.", field="days")
    visitor = User.objects.create_user(
        email=f"visitor-{uuid.uuid4()}@visitor.invalid", name=name.strip()[:120], password=None, joined_at=at
    )
    membership = grants.give(
        scope=scope, user=visitor, role=Membership.Role.INSPECTOR, at=at, until=at + timedelta(days=days)
    )
    token = secrets.token_urlsafe(32)
    return VisitorLink.objects.create(membership=membership, token_sha256=hash_token(token)), token


@transaction.atomic
def visitor_end(*, scope: Scope, membership_id: UUID, at: datetime | None = None) -> Membership:
    """Ends a visitor's link and every session that it opened. Raises ActionError where there is none here."""
    scope.require(Right.MANAGE)
    membership = (
        Membership.objects.select_related("user", "premises")
        .filter(pk=membership_id, premises=scope.premises, role=Membership.Role.INSPECTOR)
        .first()
    )
    if membership is None:
        raise ActionError("There is no such visitor here.")
    grants.end(scope=scope, membership=membership, at=at or timezone.now())
    return membership


def visitor_of(token: str, *, at: datetime | None = None) -> Membership | None:
    """The membership that a link opens, while it does; notes that it was opened."""
    link = (
        VisitorLink.objects.select_related("membership__user", "membership__premises")
        .filter(token_sha256=hash_token(token))
        .first()
    )
    if link is None or not may(link.membership, Right.READ):
        return None
    VisitorLink.objects.filter(pk=link.pk).update(last_opened_at=at or timezone.now())
    return link.membership
