"""Writes about the dairy itself, its people and their devices."""

import secrets
import zoneinfo
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.ledger import actions as ledger
from haccp.premises import attempts, grants, proofs
from haccp.premises.api_access import hash_token
from haccp.premises.errors import ActionError
from haccp.premises.models import DeviceToken, Membership, Premises, Producer, User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def premises_open(
    *,
    producer_name: str,
    name: str,
    time_zone: str,
    jurisdiction: str,
    owner_name: str,
    owner_email: str,
    owner_password: str,
    address: str = "",
    approval_number: str = "",
    at: datetime | None = None,
) -> Scope:
    """Opens a dairy with its log and its first person, the owner."""
    at = at or timezone.now()
    producer = Producer.objects.create(name=producer_name)
    premises = Premises(
        producer=producer,
        name=name,
        address=address,
        approval_number=approval_number,
        time_zone=time_zone,
        jurisdiction=jurisdiction,
    )
    _open_with_log(premises, at)
    owner = User.objects.create_user(email=owner_email, name=owner_name, password=owner_password, joined_at=at)
    return Scope(grants.first(user=owner, premises=premises, at=at))


@transaction.atomic
def premises_add(
    *,
    scope: Scope,
    premises_id: UUID,
    name: str,
    time_zone: str,
    jurisdiction: str,
    address: str = "",
    approval_number: str = "",
    at: datetime | None = None,
) -> Scope:
    """Opens another premises of the same producer, with its own log; the same person is its owner.

    The same premises_id sent again gives the one already there. Raises ActionError with a sentence per field.
    """
    scope.require(Right.MANAGE)
    at = at or timezone.now()
    producer = Producer.objects.select_for_update().get(pk=scope.premises.producer_id)
    there = Membership.objects.filter(premises=premises_id, user=scope.user, left_at__isnull=True).first()
    if there is not None and there.premises.producer_id == producer.pk and there.premises.name == name.strip():
        return Scope(there)
    wrong: dict[str, str] = {}
    if not 1 <= len(name.strip()) <= 160:
        wrong["name"] = "Give 1 to 160 characters."
    elif Premises.objects.filter(producer=producer, name=name.strip()).exists():
        wrong["name"] = "Another of your premises has this name; papers must tell them apart."
    if time_zone not in zoneinfo.available_timezones():
        wrong["time_zone"] = "Give a time zone such as Europe/Madrid or America/Chicago."
    if jurisdiction not in Premises.Jurisdiction.values:
        wrong["jurisdiction"] = f"Say whose food law applies: {', '.join(Premises.Jurisdiction.values)}."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    premises = Premises(
        id=premises_id,
        producer=producer,
        name=name.strip(),
        address=address.strip(),
        approval_number=approval_number.strip(),
        time_zone=time_zone,
        jurisdiction=jurisdiction,
    )
    _open_with_log(premises, at)
    return Scope(grants.first(user=scope.user, premises=premises, at=at))


def _open_with_log(premises: Premises, at: datetime) -> None:
    """Every premises has a log of its own from its first moment."""
    premises.log = ledger.open_log(key=f"premises:{premises.id}", at=at)
    premises.save()


@transaction.atomic
def premises_change(
    *, scope: Scope, name: str, address: str, approval_number: str, at: datetime | None = None
) -> Premises:
    """What papers say of the dairy. Its law and time zone stay as it was opened: records are dated and judged by them.

    Raises ActionError for a missing or overlong name or number.
    """
    scope.require(Right.MANAGE)
    for field, value, least, most in (
        ("name", name.strip(), 1, 160),
        ("address", address.strip(), 0, 1000),
        ("approval_number", approval_number.strip(), 0, 40),
    ):
        if not least <= len(value) <= most:
            raise ActionError(f"Give {least} to {most} characters.", field=field)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    wanted = (name.strip(), address.strip(), approval_number.strip())
    if (premises.name, premises.address, premises.approval_number) != wanted:
        premises.name, premises.address, premises.approval_number = wanted
        premises.save(update_fields=["name", "address", "approval_number"])
        ledger.seal(
            log_id=scope.log_id,
            kind="premises.changed",
            subject=f"premises:{premises.id}",
            body={"name": premises.name, "address": premises.address, "approval_number": premises.approval_number},
            actor=scope.actor,
            at=at or timezone.now(),
        )
    return premises


@transaction.atomic
def person_add(
    *, scope: Scope, name: str, email: str, password: str, role: str, at: datetime | None = None
) -> Membership:
    """Adds a person with a password that somebody gave them. People are asked in by an invitation: haccp.access."""
    scope.require(Right.MANAGE)
    at = at or timezone.now()
    user = User.objects.create_user(email=email, name=name, password=password, joined_at=at)
    return grants.give(scope=scope, user=user, role=role, at=at)


@transaction.atomic
def device_add(*, scope: Scope, name: str) -> tuple[DeviceToken, str]:
    """A token for one device of this person. The token itself is returned once and never stored."""
    scope.require(Right.BELONG)
    if not name.strip():
        raise ActionError("Give the device a name that you will recognise, such as “tablet at vat 2”.", field="name")
    token = secrets.token_urlsafe(32)
    device = DeviceToken.objects.create(membership=scope.membership, name=name.strip(), token_sha256=hash_token(token))
    ledger.seal(
        log_id=scope.log_id,
        kind="device.added",
        subject=f"device:{device.id}",
        body={"name": device.name, "membership": device.membership_id},
        actor=scope.actor,
        at=device.created_at,
    )
    return device, token


@transaction.atomic
def device_revoke(*, scope: Scope, device_id: UUID) -> None:
    """Ends a device's access; the person's own, or anybody's for the owner."""
    device = DeviceToken.objects.select_related("membership").filter(id=device_id).first()
    if device is None or device.membership.premises_id != scope.premises.id:
        raise ActionError("There is no such device here.")
    if device.membership_id != scope.membership.id:
        scope.require(Right.MANAGE)
    now = timezone.now()
    if DeviceToken.objects.filter(id=device_id, revoked_at__isnull=True).update(revoked_at=now):
        ledger.seal(
            log_id=scope.log_id,
            kind="device.revoked",
            subject=f"device:{device.id}",
            body={"name": device.name},
            actor=scope.actor,
            at=now,
        )


@transaction.atomic
def preferences_set(*, scope: Scope, temperature_unit: str, volume_unit: str, mass_unit: str) -> None:
    """The units that this person reads in; stored values do not change."""
    User.objects.filter(pk=scope.user.pk).update(
        temperature_unit=temperature_unit, volume_unit=volume_unit, mass_unit=mass_unit
    )


def confirm_identity(*, scope: Scope, password: str) -> str:
    """The person proves again who they are, before each signature: by the password, or by the word that stands for a
    passkey that they have just used (`proofs`). Returns by which. Raises ActionError on field "password"."""
    if password.startswith(proofs.PREFIX):
        if proofs.take(scope.user, password):
            return "passkey"
        raise ActionError("Your passkey was used too long ago; use it again. Nothing was signed.", field="password")
    attempts.refuse_if_locked("password", scope.user.pk, field="password")
    if not scope.user.check_password(password):
        attempts.failed("password", scope.user.pk)
        raise ActionError("That is not your password; nothing was signed.", field="password")
    attempts.forget("password", scope.user.pk)
    return "password"
