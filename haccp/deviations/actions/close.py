"""Closes a deviation with a signature and settles the holds it placed."""

from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from haccp.deviations import sealing
from haccp.deviations.actions.steps import deviation_for_update
from haccp.deviations.actions.tasks import task_write
from haccp.deviations.models import Closure, CorrectiveStep, Deviation, Task
from haccp.deviations.queries import LETS_GO_ON, Guide, guide
from haccp.deviations.reach import not_yet_implicated
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Hold
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Disposition = CorrectiveStep.Disposition
LOOK_AFTER = timedelta(days=30)  # common practice, no source
STATEMENT = (
    "The cause was found, control was regained, the product was evaluated and disposed of as stated, "
    "and a recurrence is prevented as stated."
)


@transaction.atomic
def deviation_close(
    *,
    scope: Scope,
    deviation_id: UUID,
    password: str,
    seen_sha256: str,
    verify_on: date | None = None,
    now: datetime | None = None,
) -> Closure:
    """Signs exactly what the page showed, then lifts the holds whose disposition lets the lot go on.

    verify_on: when somebody looks whether it worked; a month from now unless said otherwise.

    Raises ActionError while a step is missing or a lot has no final disposition, Conflict when it is closed
    already or has changed since the page was opened.
    """
    scope.require(Right.CLOSE_DEVIATION)
    now = now or timezone.now()
    method = confirm_identity(scope=scope, password=password)
    deviation = deviation_for_update(scope, deviation_id)
    if hasattr(deviation, "closure"):
        raise Conflict(f"{deviation.reference} is closed already.")
    led = guide(deviation)
    if led.missing:
        raise ActionError("It cannot be closed yet: " + " ".join(led.missing))
    missed = not_yet_implicated(scope.premises, deviation, now)
    if missed:
        codes = ", ".join(one.lot.code for one, _ in missed)
        raise ActionError(
            f"By now it reaches more: {codes}. Add them under “May more be touched?”, and decide about each."
        )
    if deviation.control_point.two_to_close and _all_by(led, scope):
        raise ActionError(
            f"The plan asks for two people at {deviation.control_point.code}: whoever recorded all of it cannot close "
            "it alone. Ask somebody else with the right to close."
        )
    if led.content_sha256 != seen_sha256:
        raise Conflict("Something was added while you were reading. Read it again, then sign.")
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="deviation.closed",
        statement=STATEMENT,
        content=led.content,
        method=method,
        at=now,
    )
    closure = Closure.objects.create(deviation=deviation, signature=signature, closed_by=scope.user, closed_at=now)
    ledger.seal(
        log_id=scope.log_id,
        kind="deviation.closed",
        subject=f"closure:{closure.id}",
        body=sealing.closure_body(closure),
        actor=scope.actor,
        at=now,
    )
    _settle_holds(scope, deviation, led, now)
    _hold_what_ends(scope, deviation, led, now)
    look_on = verify_on or scope.premises.local_date(now) + LOOK_AFTER
    title = "Look whether the prevention worked"
    task_id = uuid5(closure.id, Task.Kind.EFFECTIVENESS)
    task_write(scope, deviation, task_id, Task.Kind.EFFECTIVENESS, title, scope.user, look_on, now)
    return closure


def _all_by(led: Guide, scope: Scope) -> bool:
    return all(step.recorded_by_id == scope.user.pk for step in led.steps)


def _hold_what_ends(scope: Scope, deviation: Deviation, led: Guide, now: datetime) -> None:
    """What is to be destroyed, fed or sent back is held until that is done, also where nothing held it before."""
    ending = [
        step.lot for step in led.disposition_of.values() if step.lot is not None and step.disposition not in LETS_GO_ON
    ]
    lots.hold_place(
        log_id=scope.log_id,
        lots=ending,
        cause=deviation.hold_cause,
        reason=f"{deviation.reference}: {deviation.summary}",
        actor=scope.actor,
        at=now,
    )


def _settle_holds(scope: Scope, deviation: Deviation, led: Guide, now: datetime) -> None:
    for hold in Hold.objects.standing().filter(cause=deviation.hold_cause).select_related("lot"):
        step = led.disposition_of[hold.lot_id]
        if step.disposition in LETS_GO_ON:
            words = Disposition(step.disposition).label
            lots.hold_lift(scope=scope, hold=hold, reason=f"{deviation.reference}: {words}. {step.text}", at=now)
