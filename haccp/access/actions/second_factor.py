"""Codes of an authenticator as the second factor at sign-in (RFC 6238, by django-otp), with spare codes on paper."""

import base64
import secrets
from dataclasses import dataclass

import segno
from django.db import transaction
from django.utils import timezone
from django_otp import match_token
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from haccp.ledger import actions as ledger
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError
from haccp.premises.models import User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

SPARE_CODES = 8
ISSUER = "Curdward"


@dataclass(frozen=True, slots=True)
class Offered:
    """picture: a data URI of the QR code; secret: the same to be typed, in groups of four."""

    picture: str
    secret: str


def is_on(user: User) -> bool:
    return bool(TOTPDevice.objects.filter(user=user, confirmed=True).exists())


def offered(user: User) -> Offered:
    """The secret that a person is about to set up; the same until it is confirmed."""
    device, _ = TOTPDevice.objects.get_or_create(user=user, confirmed=False, defaults={"name": "authenticator"})
    secret = base64.b32encode(device.bin_key).decode()
    picture = segno.make(device.config_url).svg_data_uri(scale=5, border=2)
    return Offered(picture, " ".join(secret[place : place + 4] for place in range(0, len(secret), 4)))


@transaction.atomic
def turn_on(*, scope: Scope, code: str) -> list[str]:
    """Confirms the offered secret by a code that it gave. Returns spare codes, each good once, shown this once.
    Raises ActionError on "code"."""
    scope.require(Right.BELONG)
    device = TOTPDevice.objects.select_for_update().filter(user=scope.user, confirmed=False).first()
    if device is None or not device.verify_token(code.replace(" ", "")):
        raise ActionError(
            "That is not the code that it shows now. Check the clock of the telephone.", field="one_time_code"
        )
    device.confirmed = True
    device.save()
    StaticDevice.objects.filter(user=scope.user).delete()
    paper = StaticDevice.objects.create(user=scope.user, name="spare codes")
    spare = [secrets.token_hex(5) for _ in range(SPARE_CODES)]
    for one in spare:
        paper.token_set.create(token=one)
    _seal(scope, "second_factor.on")
    return spare


@transaction.atomic
def turn_off(*, scope: Scope, password: str) -> None:
    """Raises ActionError on "password"."""
    scope.require(Right.BELONG)
    confirm_identity(scope=scope, password=password)
    TOTPDevice.objects.filter(user=scope.user).delete()
    StaticDevice.objects.filter(user=scope.user).delete()
    _seal(scope, "second_factor.off")


def prove(*, user: User, code: str) -> None:
    """A code of the authenticator or a spare one. The library slows down whoever guesses, and takes each code once.
    Raises ActionError on "code"."""
    if match_token(user, code.replace(" ", "").strip().lower()) is None:
        raise ActionError(
            "That is not the code that it shows now, or too many were tried: wait a little.", field="one_time_code"
        )


def _seal(scope: Scope, kind: str) -> None:
    at = timezone.now()
    ledger.seal(
        log_id=scope.log_id, kind=kind, subject=f"person:{scope.user.pk}", body={"at": at}, actor=scope.actor, at=at
    )
