"""Which revision may be edited, by whom."""

from haccp.plan.models import PlanRevision
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


def editable(scope: Scope, revision: PlanRevision) -> PlanRevision:
    """The draft, locked until the transaction ends, so that two people who edit it take turns.

    Raises NotAllowed for a role that may not edit, and ActionError for a plan of another dairy or an approved one.
    """
    scope.require(Right.EDIT_PLAN)
    locked = (
        PlanRevision.objects.select_for_update(of=("self",))
        .filter(pk=revision.pk, premises=scope.premises)
        .select_related("premises")
        .first()
    )
    if locked is None:
        raise ActionError("There is no such plan at this dairy.")
    if locked.is_approved:
        raise ActionError(f"{locked} is approved and frozen; draft a new revision to change the plan.")
    if locked.is_discarded:
        raise ActionError(f"{locked} was discarded; bring it back before you change it.")
    return locked
