"""A training is written down."""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.queries import people_of
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.training import sealing
from haccp.training.models import Training

LONGEST = timedelta(days=366 * 20)


@transaction.atomic
def training_record(
    *,
    scope: Scope,
    training_id: UUID,
    person_id: UUID,
    subject: str,
    given_by: str,
    given_on: date,
    valid_until: date | None = None,
    note: str = "",
    now: datetime | None = None,
) -> Training:
    """A person who works here was trained. valid_until: the last day on which it counts; None: it does not run out.

    The same training_id sent again gives the training already there. Raises ActionError with a sentence per field, and
    Conflict where that id was sent with other content.
    """
    scope.require(Right.RECORD)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = Training.objects.filter(pk=training_id).first()
    if there is not None:
        kept = (there.premises_id, there.person_id, there.subject, there.given_on, there.valid_until)
        if kept != (premises.pk, person_id, subject.strip(), given_on, valid_until):
            raise Conflict("This training was already sent with other content; start a new entry.")
        return there
    wrong: dict[str, str] = {}
    person = people_of(premises).filter(pk=person_id).first()
    if person is None:
        wrong["person"] = "Nobody of that name works here; choose the person from the list."
    if not subject.strip():
        wrong["subject"] = "Say what it was about: “Food hygiene”, “The pasteuriser”."
    if not given_by.strip():
        wrong["given_by"] = "Say who taught it, or who gave the certificate."
    if given_on > premises.local_date(now):
        wrong["given_on"] = "That day has not come yet; record it when it was given."
    if valid_until is not None and valid_until < given_on:
        wrong["valid_until"] = "It ends before it was given; correct one of the two days."
    elif valid_until is not None and valid_until > given_on + LONGEST:
        wrong["valid_until"] = "That is more than twenty years on; leave it empty where it does not run out."
    if wrong or person is None:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    training = Training(
        id=training_id,
        premises=premises,
        person=person,
        subject=subject.strip(),
        given_by=given_by.strip(),
        given_on=given_on,
        valid_until=valid_until,
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    training.save(force_insert=True)
    ledger.seal(
        log_id=scope.log_id,
        kind="training.given",
        subject=f"training:{training.id}",
        body=sealing.training_body(training),
        actor=scope.actor,
        at=now,
    )
    return training
