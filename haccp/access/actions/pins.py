"""The short PIN by which a person takes over a shared device at the vat."""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from haccp.access.models import Pin
from haccp.ledger import actions as ledger
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

MOST_WRONG = 5
LOCKED_FOR = timedelta(minutes=15)
TOO_SIMPLE = frozenset({"1234", "4321", "12345", "123456", "1234567", "12345678", "2580"})


@transaction.atomic
def pin_set(*, scope: Scope, pin: str, password: str, at: datetime | None = None) -> None:
    """Sets a person's own PIN, hashed with Argon2 as passwords are. Raises ActionError on "pin" or "password"."""
    scope.require(Right.BELONG)
    at = at or timezone.now()
    if not pin.isdigit() or not 4 <= len(pin) <= 8:
        raise ActionError("A PIN is 4 to 8 digits.", field="pin")
    if pin in TOO_SIMPLE or len(set(pin)) == 1:
        raise ActionError("This PIN is among the first that anybody would try: choose another.", field="pin")
    confirm_identity(scope=scope, password=password)
    Pin.objects.update_or_create(
        user=scope.user, defaults={"hashed": make_password(pin), "wrong": 0, "locked_until": None, "set_at": at}
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="pin.set",
        subject=f"person:{scope.user.pk}",
        body={"set_at": at},
        actor=scope.actor,
        at=at,
    )


def take_over(*, scope: Scope, membership: Membership, pin: str, at: datetime | None = None) -> None:
    """Proves by PIN that this person stands at the device of `scope`. Wrong ones count whatever becomes of the
    request; after five, the PIN is locked for a quarter of an hour. Raises ActionError on "pin"."""
    scope.require(Right.RECORD)
    at = at or timezone.now()
    found = Pin.objects.filter(user=membership.user_id).first()
    if found is None or membership.premises_id != scope.premises.id or membership.left_at is not None:
        raise ActionError("This person has set no PIN here.", field="pin")
    # Counted before it is looked at, by the database: many tries at once do not slip through.
    Pin.objects.filter(pk=found.pk, locked_until__lte=at).update(wrong=0, locked_until=None)
    allowed = Pin.objects.filter(pk=found.pk, locked_until__isnull=True, wrong__lt=MOST_WRONG)
    if not allowed.update(wrong=F("wrong") + 1):
        Pin.objects.filter(pk=found.pk, locked_until__isnull=True).update(locked_until=at + LOCKED_FOR)
        raise ActionError("This PIN is locked after too many wrong ones: wait, or sign in by password.", field="pin")
    if not check_password(pin, found.hashed):
        Pin.objects.filter(pk=found.pk, wrong__gte=MOST_WRONG).update(locked_until=at + LOCKED_FOR)
        raise ActionError("That is not this person's PIN.", field="pin")
    Pin.objects.filter(pk=found.pk).update(wrong=0, locked_until=None)
