"""A lot is accepted or refused by a person."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.intake import sealing
from batches.intake.models import Acceptance
from batches.intake.standing import standing_of
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Decision = Acceptance.Decision
DECIDED_ABOUT = (Lot.Kind.MILK, Lot.Kind.INGREDIENT)


@transaction.atomic
def acceptance_decide(
    *,
    scope: Scope,
    acceptance_id: UUID,
    lot_id: UUID,
    decision: str,
    reason: str = "",
    now: datetime | None = None,
) -> Acceptance:
    """Accepts or refuses a milk or ingredient lot. A later decision replaces an earlier one, with its reason.

    Raises ActionError for a refusal without a reason; for an acceptance while something speaks against the lot; and
    for one without a reason while an acceptance check is not done, or of a lot that was refused before.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = Acceptance.objects.filter(pk=acceptance_id).first()
    if there is not None:
        if (there.lot_id, there.decision, there.reason) != (lot_id, decision, reason.strip()):
            raise Conflict("This decision was already sent with other content; decide again.")
        return there
    lots = Lot.objects.for_premises(scope.premises).filter(kind__in=DECIDED_ABOUT)
    lot = lots.select_related("premises").filter(pk=lot_id).first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy.", field="lot")
    if decision not in Decision.values:
        raise ActionError("Choose whether the lot is accepted or refused.", field="decision")
    if decision == Decision.REFUSED and not reason.strip():
        raise ActionError("Say why the lot is refused; the reason stays with it.", field="reason")
    if decision == Decision.ACCEPTED:
        _refuse_unacceptable(lot, reason.strip(), now)
    row = Acceptance.objects.create(
        id=acceptance_id, lot=lot, decision=decision, reason=reason.strip(), decided_at=now, decided_by=scope.user
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.acceptance",
        subject=f"acceptance:{row.id}",
        body=sealing.acceptance_body(row),
        actor=scope.actor,
        at=now,
    )
    return row


def _refuse_unacceptable(lot: Lot, reason: str, now: datetime) -> None:
    standing = standing_of(lot, now)
    if standing.problems:
        raise ActionError(
            f"{lot.code} cannot be accepted: {'; '.join(standing.problems)}. Refuse it, or clear that first.",
            field="decision",
        )
    if standing.to_do and not reason:
        raise ActionError(
            f"{'; '.join(standing.to_do)}. Do that first, or say why the lot is accepted all the same.", field="reason"
        )
    if standing.state == Decision.REFUSED and not reason:
        raise ActionError("This lot was refused before; say why it is accepted now.", field="reason")
