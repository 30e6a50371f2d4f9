"""What makes a review of the plan due, and the reviews."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from haccp.ledger import actions as ledger
from haccp.plan import consequences, sealing
from haccp.plan.models import PlanReview, ReviewOccasion, TriggerKind
from haccp.plan.queries import revision_in_force
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

REVIEW_STATEMENT = "I reviewed the food-safety plan in force, and this is what the review found."


@transaction.atomic
def review_occasion_record(
    *, scope: Scope, kind: str, description: str, occurred_at: datetime, at: datetime
) -> ReviewOccasion:
    """Something that makes the plan be reviewed: a new product, new equipment, a trend of deviations ...

    Raises ActionError for an unknown kind, no description, and a moment to come.
    """
    scope.require(Right.EDIT_PLAN)
    if kind not in TriggerKind.values:
        raise ActionError(f"Choose what happened: {', '.join(TriggerKind.values)}.", field="kind")
    if not description.strip():
        raise ActionError("Say what happened.", field="description")
    if occurred_at > at:
        raise ActionError("That moment has not come yet; correct the time.", field="occurred_at")
    occasion = ReviewOccasion.objects.create(
        premises=scope.premises,
        kind=kind,
        description=description.strip(),
        occurred_at=occurred_at,
        recorded_at=at,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="plan.review_occasion",
        subject=f"review_occasion:{occasion.id}",
        body=sealing.occasion_body(occasion),
        actor=scope.actor,
        at=at,
    )
    consequences.review_changed(scope, None, at)
    return occasion


@transaction.atomic
def review_record(
    *,
    scope: Scope,
    outcome: str,
    change_needed: bool,
    password: str,
    at: datetime,
    review_id: UUID | None = None,
) -> PlanReview:
    """Signs a review of the revision in force, and answers the check that was due for it.

    The same id is the same review again. Raises ActionError without an outcome, or with no plan in force; Conflict
    for an id that stands for another review.
    """
    scope.require(Right.APPROVE_PLAN)
    method = confirm_identity(scope=scope, password=password)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = PlanReview.objects.filter(pk=review_id).select_related("revision").first() if review_id else None
    if there is not None:
        if there.revision.premises_id == scope.premises.pk and there.outcome == outcome.strip():
            return there
        raise Conflict("This review was sent before with other words; open the page again.")
    revision = revision_in_force(scope.premises, at)
    if revision is None:
        raise ActionError("No revision is in force yet, so there is nothing to review.")
    if not outcome.strip():
        raise ActionError("Say what the review looked at and what it found.", field="outcome")
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="plan.reviewed",
        statement=REVIEW_STATEMENT,
        content={
            "revision": revision.number,
            "outcome": outcome.strip(),
            "change_needed": change_needed,
            "reviewed_at": at,
        },
        method=method,
        at=at,
    )
    review = PlanReview.objects.create(
        pk=review_id or uuid4(),
        revision=revision,
        reviewed_at=at,
        outcome=outcome.strip(),
        change_needed=change_needed,
        signature=signature,
    )
    consequences.review_changed(scope, review, at)
    return review
