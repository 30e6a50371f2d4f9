"""Erasing a person's name and address on lawful request: records, signatures and every proof stay."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Max

from haccp.access.models import Invitation, Pin
from haccp.keeping import retention
from haccp.ledger import actions as ledger
from haccp.ledger.models import Entry, Log, PersonalText, Signature
from haccp.ledger.personal import ERASED_WORDS, SCHEME
from haccp.premises.errors import ActionError
from haccp.premises.models import DeviceToken, Premises, User


@dataclass(frozen=True, slots=True)
class Erased:
    """names: commitments emptied, over all logs; logs: in how many."""

    names: int
    logs: int


@transaction.atomic
def person_erase(*, email: str, reason: str, asked_by: str, at: datetime, although_kept: bool = False) -> Erased:
    """Erases a person who has left every dairy here.

    Moves: in each log, the names by which the person acted and signed; then name, address, PIN and invitations. Their
    rows and ids stay, so that records still say that one and the same person did them. What they typed into records
    is part of those, and stays. reason: the request and the law that it rests on; it is sealed.
    although_kept: a lawyer or the authority has said that the name goes although the rule on keeping stands.
    Raises ActionError for somebody unknown, who still has a role, without a reason, or whose last record the law of
    that dairy still asks to be kept with the name of who made it.
    """
    user = User.objects.select_for_update().filter(email=email.strip().lower()).first()
    if user is None:
        raise ActionError(f"Nobody here has the address {email}.")
    if user.memberships.filter(left_at__isnull=True).exists():
        raise ActionError(f"{user.name} still has a role: end it first, on the page of people.")
    if not reason.strip():
        raise ActionError("Say why: the request, and the law that it rests on.")
    if not although_kept:
        _refuse_while_kept(user, at)
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


def _refuse_while_kept(user: User, at: datetime) -> None:
    """A record is kept with who made it: 21 CFR 117.305 asks for signature or initials on the record itself."""
    acted = PersonalText.objects.filter(text__startswith=f"{user.pk} ", erased_at__isnull=True)
    for premises in Premises.objects.filter(log__in=acted.values("log")).order_by("name"):
        references = [SCHEME + one for one in acted.filter(log=premises.log_id).values_list("commitment", flat=True)]
        last = Entry.objects.filter(log=premises.log_id, actor__in=references).aggregate(Max("recorded_at"))
        moment = last["recorded_at__max"]
        kept = None if moment is None else retention.kept_until(premises.jurisdiction, premises.local_date(moment))
        if kept is not None and premises.local_date(at) <= kept[0]:
            raise ActionError(
                f"{user.name} made records at {premises.name} that are to be kept with their name until "
                f"{kept[0].isoformat()} ({kept[1].document}, {kept[1].clause}): erase it after that day."
            )
