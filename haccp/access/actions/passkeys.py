"""Passkeys: added, used at sign-in and in the place of the password at a signature, removed (py_webauthn verifies)."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

import webauthn
from django.db import transaction
from django.utils import timezone
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from haccp.access.models import Passkey
from haccp.ledger import actions as ledger
from haccp.premises import proofs
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

MOST = 10
NOT_PROVEN = "That passkey could not be verified. Try again, or use your password."
REQUIRED = UserVerificationRequirement.REQUIRED
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Site:
    """Where a passkey is good. origin: scheme, host and port, as the browser says it."""

    origin: str

    @property
    def domain(self) -> str:
        return urlsplit(self.origin).hostname or ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the browser is asked, and the challenge that its answer must hold."""

    options: Json
    challenge: bytes


def passkeys_of(user: User) -> list[Passkey]:
    return list(Passkey.objects.filter(user=user).defer("public_key"))


def passkey_offer(*, scope: Scope, site: Site, password: str) -> Asked:
    """After the password: what a browser needs to make a key pair. Raises ActionError on "password"."""
    scope.require(Right.BELONG)
    confirm_identity(scope=scope, password=password)
    there = passkeys_of(scope.user)
    if len(there) >= MOST:
        raise ActionError(f"You have {MOST} passkeys already; remove one that you use no more.")
    options = webauthn.generate_registration_options(
        rp_id=site.domain,
        rp_name="Curdward",
        user_id=scope.user.pk.bytes,
        user_name=scope.user.email,
        user_display_name=scope.user.name,
        exclude_credentials=[PublicKeyCredentialDescriptor(id=bytes(one.credential_id)) for one in there],
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=REQUIRED
        ),
    )
    return _asked(options)


@transaction.atomic
def passkey_add(
    *, scope: Scope, site: Site, name: str, challenge: bytes, answer: Mapping[str, Any], now: datetime | None = None
) -> Passkey:
    """Keeps the public half. Raises ActionError for an answer that does not verify, Conflict for a key known here."""
    scope.require(Right.BELONG)
    now = now or timezone.now()
    if not name.strip():
        raise ActionError("Say which device it is on, such as “telephone”.", field="name")
    try:
        proven = webauthn.verify_registration_response(
            credential=dict(answer),
            expected_challenge=challenge,
            expected_rp_id=site.domain,
            expected_origin=site.origin,
            require_user_verification=True,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError) as error:
        raise ActionError(NOT_PROVEN) from error
    if Passkey.objects.filter(credential_id=proven.credential_id).exists():
        raise Conflict("That passkey is there already.")
    passkey = Passkey.objects.create(
        user=scope.user,
        name=name.strip()[:80],
        credential_id=proven.credential_id,
        public_key=proven.credential_public_key,
        sign_count=proven.sign_count,
        added_at=now,
    )
    _seal(scope, "passkey.added", passkey, now)
    return passkey


@transaction.atomic
def passkey_remove(*, scope: Scope, passkey_id: UUID, password: str, now: datetime | None = None) -> None:
    """Raises ActionError on "password", and for a passkey that is not this person's."""
    scope.require(Right.BELONG)
    confirm_identity(scope=scope, password=password)
    passkey = Passkey.objects.filter(user=scope.user, pk=passkey_id).first()
    if passkey is None:
        raise ActionError("You have no such passkey.")
    _seal(scope, "passkey.removed", passkey, now or timezone.now())
    passkey.delete()


def passkey_ask(*, site: Site, user: User | None = None) -> Asked:
    """What the browser is asked to prove a passkey. user: None at sign-in, where the passkey says who it is."""
    known = passkeys_of(user) if user is not None else []
    return _asked(
        webauthn.generate_authentication_options(
            rp_id=site.domain,
            user_verification=REQUIRED,
            allow_credentials=[PublicKeyCredentialDescriptor(id=bytes(one.credential_id)) for one in known] or None,
        )
    )


@transaction.atomic
def passkey_prove(
    *, site: Site, challenge: bytes, answer: Mapping[str, Any], user: User | None = None, now: datetime | None = None
) -> User:
    """Whose passkey answered the challenge; of this user, where one is named. Raises ActionError for any that does not
    verify, is not known here, belongs to somebody who may not sign in any more, or has counted backwards."""
    try:
        credential_id = webauthn.base64url_to_bytes(str(answer["rawId"]))
    except (KeyError, ValueError) as error:
        raise ActionError(NOT_PROVEN) from error
    passkey = (
        Passkey.objects.select_for_update(of=("self",))
        .select_related("user")
        .filter(credential_id=credential_id, user__is_active=True)
        .first()
    )
    if passkey is None or (user is not None and passkey.user_id != user.pk):
        raise ActionError(NOT_PROVEN)
    try:
        proven = webauthn.verify_authentication_response(
            credential=dict(answer),
            expected_challenge=challenge,
            expected_rp_id=site.domain,
            expected_origin=site.origin,
            credential_public_key=bytes(passkey.public_key),
            credential_current_sign_count=passkey.sign_count,
            require_user_verification=True,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError) as error:
        raise ActionError(NOT_PROVEN) from error
    Passkey.objects.filter(pk=passkey.pk).update(sign_count=proven.new_sign_count, last_used_at=now or timezone.now())
    return passkey.user


def passkey_confirm(*, scope: Scope, site: Site, challenge: bytes, answer: Mapping[str, Any]) -> str:
    """Proves this person's passkey; returns the word that stands in the place of the password once (`proofs`)."""
    scope.require(Right.BELONG)
    return proofs.give(passkey_prove(site=site, challenge=challenge, answer=answer, user=scope.user))


def _asked(options: Any) -> Asked:
    return Asked(json.loads(webauthn.options_to_json(options)), options.challenge)


def _seal(scope: Scope, kind: str, passkey: Passkey, at: datetime) -> None:
    ledger.seal(
        log_id=scope.log_id,
        kind=kind,
        subject=f"person:{scope.user.pk}",
        body={"passkey": passkey.pk, "at": at},
        actor=scope.actor,
        at=at,
    )
