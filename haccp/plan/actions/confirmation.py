"""That somebody walked the process and found it as the flow diagram shows it."""

from datetime import date, datetime

from django.db import transaction

from haccp.ledger import actions as ledger
from haccp.plan.document.fingerprint import flow_as_json, flow_sha256
from haccp.plan.models import FlowConfirmation, PlanRevision
from haccp.plan.rows import read_plan
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

CONFIRMATION_STATEMENT = "I walked the process with the flow diagram in hand and found it as it is drawn."


@transaction.atomic
def flow_confirm(
    *,
    scope: Scope,
    revision: PlanRevision,
    confirmed_on: date,
    password: str,
    at: datetime,
    note: str = "",
    seen_sha256: str = "",
) -> FlowConfirmation:
    """Signs that the flow diagram was confirmed on site. A later change of the flow asks for a new confirmation.

    seen_sha256: flow_sha256 of the flow as the person saw it. Raises ActionError for a plan without steps, a day to
    come, and a plan of another dairy; Conflict where the flow was changed meanwhile.
    """
    scope.require(Right.EDIT_PLAN)
    method = confirm_identity(scope=scope, password=password)
    locked = PlanRevision.objects.select_for_update(of=("self",)).filter(pk=revision.pk).first()
    if locked is None or locked.premises_id != scope.premises.pk:
        raise ActionError("There is no such plan at this dairy.")
    if confirmed_on > scope.premises.local_date(at):
        raise ActionError(
            "That day has not come yet; give the day on which you walked the process.", field="confirmed_on"
        )
    document = read_plan(locked)
    if not document.steps:
        raise ActionError("The plan has no process step yet; draw the flow before you confirm it.")
    fingerprint = flow_sha256(document)
    if seen_sha256 and seen_sha256 != fingerprint:
        raise Conflict("The flow was changed since you read it; look at it again before you confirm it.")
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="plan.flow_confirmed",
        statement=CONFIRMATION_STATEMENT,
        content={
            "revision": locked.number,
            "confirmed_on": confirmed_on,
            "note": note,
            "flow_sha256": fingerprint,
            "flow": flow_as_json(document),
        },
        method=method,
        at=at,
    )
    return FlowConfirmation.objects.create(
        revision=locked, confirmed_on=confirmed_on, note=note, flow_sha256=fingerprint, signature=signature
    )
