"""Signing a day: by who worked it, and by a second person who reviews it."""

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from haccp.checks.actions.missed import flag_past_grace
from haccp.checks.actions.plan_due import plan_due
from haccp.checks.daybook import DayBook, day_book
from haccp.checks.models import DaySignature, DueCheck
from haccp.checks.reviewing import day_reviewed
from haccp.ledger import actions as ledger
from haccp.ledger import signed_heads
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Meaning = DaySignature.Meaning
STATEMENTS = {
    Meaning.SIGNED_OFF: "The records of this day are complete and true to what was done and seen.",
    Meaning.REVIEWED: "I have reviewed the records of this day; what was missed or deviated is explained in them.",
}
RIGHTS = {Meaning.SIGNED_OFF: Right.SIGN_DAY, Meaning.REVIEWED: Right.REVIEW_DAY}


@transaction.atomic
def day_sign(
    *,
    scope: Scope,
    day: date,
    meaning: str,
    password: str,
    seen_sha256: str,
    now: datetime | None = None,
) -> DaySignature:
    """Signs a day as it stands.

    seen_sha256: DayBook.content_sha256 of the page the person looked at. Raises ActionError while anything is
    unanswered, for a wrong password, or for a reviewer who signed the day off; Conflict when the day has changed
    since the page was opened or is signed already.
    """
    meaning = Meaning(meaning)
    scope.require(RIGHTS[meaning])
    now = now or timezone.now()
    method = confirm_identity(scope=scope, password=password)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    # What the schedule has not come to yet must not be signed over; a refusal takes the flags back with it, and the
    # next sweep makes them again.
    plan_due(premises=premises, now=now)
    flag_past_grace(DueCheck.objects.for_premises(premises), now)
    book = day_book(premises, day)
    _refuse(book, meaning, scope, now)
    if book.content_sha256 != seen_sha256:
        raise Conflict("Something was added to this day while you were reading it. Read it again, then sign.")
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning=f"day.{meaning}",
        statement=STATEMENTS[meaning],
        content=book.content,
        method=method,
        at=now,
    )
    signed_heads.sign_head(log_id=scope.log_id, at=now)
    if meaning == Meaning.REVIEWED:
        day_reviewed(premises, day)
    return DaySignature.objects.create(
        premises=premises,
        day=day,
        meaning=meaning,
        signed_by=scope.user,
        signature=signature,
        content_sha256=book.content_sha256,
    )


def _refuse(book: DayBook, meaning: str, scope: Scope, now: datetime) -> None:
    if book.day > book.premises.local_date(now):
        raise ActionError("This day has not come yet.")
    if book.unanswered:
        others = len(book.unanswered) - 1
        more = f" {others} more unanswered." if others else ""
        raise ActionError(f"The day cannot be signed yet: {book.unanswered[0]}{more}")
    if meaning == Meaning.SIGNED_OFF and book.signed_off:
        raise Conflict("This day is signed off already.")
    if meaning == Meaning.REVIEWED:
        _refuse_review(book, scope)


def _refuse_review(book: DayBook, scope: Scope) -> None:
    if book.reviewed:
        raise Conflict("This day is reviewed already.")
    if book.signed_off is None:
        raise ActionError("The day is reviewed after it was signed off by somebody who worked it.")
    if book.signed_off.signed_by_id == scope.user.id:
        raise ActionError("You signed this day off yourself; a second person reviews it.")
