"""Erasing a person's name and address on lawful request: records, signatures and every proof stay."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from haccp.access.models import Invitation, Pin
from haccp.ledger import actions as ledger
from haccp.ledger.models import Log, PersonalText, Signature
from haccp.ledger.personal import ERASED_WORDS
from haccp.premises.errors import ActionError
from haccp.premises.models import DeviceToken, User


@dataclass(frozen=True, slots=True)
class Erased:
    """names: commitments emptied, over all logs; logs: in how many."""

    names: int
    logs: int


@transaction.atomic
def person_erase(*, email: str, reason: str, asked_by: str, at: datetime) -> Erased:
    """Erases a person who has left every dairy here.

    Moves: in each log, the names by which the person acted and signed; then name, address, PIN and invitations. Their
    rows and ids stay, so that records still say that one and the same person did them. What they typed into records
    is part of those, and stays. reason: the request and the law that it rests on; it is sealed.
    Raises ActionError for somebody unknown, who still has a role, or without a reason.
    """
    user = User.objects.select_for_update().filter(email=email.strip().lower()).first()
    if user is None:
        raise ActionError(f"Nobody here has the address {email}.")
    if user.memberships.filter(left_at__isnull=True).exists():
        raise ActionError(f"{user.name} still has a role: end it first, on the page of people.")
    if not reason.strip():
        raise ActionError("Say why: the request, and the law that it rests on.")
    logs = Log.objects.filter(pk__in=PersonalText.objects.filter(text__startswith=f"{user.pk} ").values("log"))
    names = 0
    for log in logs.order_by("key"):
        acted = PersonalText.objects.filter(log=log, text__startswith=f"{user.pk} ").values_list("text", flat=True)
        signed = Signature.objects.filter(log=log, signer_id=str(user.pk)).values_list("printed_name", flat=True)
        names += ledger.erase_personal(
            log_id=log.pk, texts={*acted, *signed}, reason=reason, actor=f"keeper {asked_by}", at=at
        )
    Invitation.objects.filter(email=user.email).update(email="erased@erased.invalid", name="")
    Pin.objects.filter(user=user).delete()
    DeviceToken.objects.filter(membership__user=user).update(name=ERASED_WORDS)
    user.name, user.email, user.is_active = ERASED_WORDS, f"erased-{user.pk}@erased.invalid", False
    user.set_unusable_password()
    user.save()
    return Erased(names, logs.count())
