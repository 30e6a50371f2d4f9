"""A batch in progress put under a later revision of the plan."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from haccp.checks.actions.plan_due import plan_due_for_lot
from haccp.lots import actions as lots
from haccp.lots.models import Lot, RevisionMove
from haccp.plan.models import PlanRevision
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def batch_move_to_revision(
    *, scope: Scope, lot_id: UUID, revision_id: UUID, reason: str, now: datetime
) -> RevisionMove:
    """Moves a lot under a later revision, with the reason.

    Moves: lock the premises; record and seal the move; plan the lot's checks anew, which takes back what the earlier
    revision had planned from now on and nobody has done. What fell due before stays as it was.
    Raises ActionError as lots.revision_move, and for a lot or revision that is not there.
    """
    scope.require(Right.APPROVE_PLAN)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    lot = Lot.objects.for_premises(scope.premises).filter(pk=lot_id).first()
    revision = PlanRevision.objects.for_premises(scope.premises).filter(pk=revision_id).first()
    if lot is None or revision is None:
        raise ActionError("There is no such batch or plan at this dairy.")
    move = lots.revision_move(scope=scope, lot=lot, revision=revision, reason=reason, at=now)
    plan_due_for_lot(lot=lot, now=now)
    return move
