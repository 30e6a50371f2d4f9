"""Addresses at which a person is reached: the calendar feed and browsers."""

import hashlib
import secrets
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.ledger import actions as ledger
from haccp.notices.channels.push import may_be_told_at
from haccp.notices.models import CalendarAddress, PushDevice
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope

MOST_DEVICES = 10


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def calendar_address_make(*, scope: Scope, now: datetime | None = None) -> str:
    """A new secret for the person's calendar feed, returned once and never stored; an earlier one ends."""
    now = now or timezone.now()
    _end(scope, now)
    token = secrets.token_urlsafe(32)
    row = CalendarAddress.objects.create(membership=scope.membership, token_sha256=hash_of(token), made_at=now)
    _seal(scope, "calendar_address.made", row, now)
    return token


@transaction.atomic
def calendar_address_revoke(*, scope: Scope, now: datetime | None = None) -> None:
    _end(scope, now or timezone.now())


@transaction.atomic
def push_device_add(*, scope: Scope, endpoint: str, p256dh: str, auth: str, now: datetime | None = None) -> PushDevice:
    """This browser is told from now on. Raises ActionError for what is no subscription of a push service."""
    now = now or timezone.now()
    if not may_be_told_at(endpoint) or not p256dh or not auth or len(endpoint) > 1000 or len(p256dh) > 200:
        raise ActionError("That is no subscription of a browser's push service; try again from the browser.")
    there = PushDevice.objects.filter(membership=scope.membership, endpoint=endpoint).first()
    if there is not None:
        PushDevice.objects.filter(pk=there.pk).update(p256dh=p256dh, auth=auth[:100], ended_at=None)
        there.refresh_from_db()
        return there
    if PushDevice.objects.filter(membership=scope.membership, ended_at__isnull=True).count() >= MOST_DEVICES:
        raise ActionError(f"{MOST_DEVICES} browsers are told already; end one of them first.")
    return PushDevice.objects.create(
        membership=scope.membership, endpoint=endpoint, p256dh=p256dh, auth=auth[:100], added_at=now
    )


@transaction.atomic
def push_device_end(*, scope: Scope, device_id: UUID, now: datetime | None = None) -> None:
    PushDevice.objects.filter(membership=scope.membership, pk=device_id, ended_at__isnull=True).update(
        ended_at=now or timezone.now()
    )


def _end(scope: Scope, now: datetime) -> None:
    for row in CalendarAddress.objects.select_for_update().filter(membership=scope.membership, revoked_at__isnull=True):
        CalendarAddress.objects.filter(pk=row.pk).update(revoked_at=now)
        _seal(scope, "calendar_address.revoked", row, now)


def _seal(scope: Scope, kind: str, row: CalendarAddress, at: datetime) -> None:
    ledger.seal(
        log_id=scope.log_id,
        kind=kind,
        subject=f"calendar_address:{row.pk}",
        body={"membership": row.membership_id},
        actor=scope.actor,
        at=at,
    )
