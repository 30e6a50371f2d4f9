"""What was found and done about a deviation, step by step."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from haccp.deviations import sealing
from haccp.deviations.models import CorrectiveStep, Deviation
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Hold, Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Kind = CorrectiveStep.Kind
ASK = {
    Kind.CAUSE: "Say what caused it, or what you found when you looked.",
    Kind.CORRECTION: "Say what was done and how you know that control is regained.",
    Kind.DISPOSITION: "Say why this is safe to do with the product.",
    Kind.PREVENTION: "Say what will keep it from happening again.",
    Kind.REASSESSMENT: "Say whether the plan foresaw this, and what in it has to change.",
}


@transaction.atomic
def step_add(
    *,
    scope: Scope,
    step_id: UUID,
    deviation_id: UUID,
    kind: str,
    text: str,
    lot_id: UUID | None = None,
    disposition: str = "",
    now: datetime | None = None,
) -> CorrectiveStep:
    """Adds a step; a later one of the same kind (and lot) counts in place of the earlier, and both are shown.

    The disposition “not touched” narrows what is implicated: it needs the right to close, and lifts the hold at once.
    Raises ActionError for an empty text, a disposition without its lot, or a deviation that is closed.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    deviation = deviation_for_update(scope, deviation_id)
    there = CorrectiveStep.objects.filter(id=step_id).first()
    if there is not None:
        about = (lot_id, disposition) if kind == Kind.DISPOSITION else (None, "")
        if _content(there) != (deviation.id, kind, text.strip(), *about):
            raise Conflict("This step was already sent with other content; add a new one.")
        return there
    if hasattr(deviation, "closure"):
        raise Conflict(f"{deviation.reference} is closed; open a new deviation if there is more.")
    if kind not in Kind.values:
        raise ActionError(
            "Choose which step this is: cause, correction, disposition, prevention or reassessment.", field="kind"
        )
    if not text.strip():
        raise ActionError(ASK[Kind(kind)], field="text")
    lot = _lot(scope, deviation, kind, lot_id, disposition)
    step = CorrectiveStep.objects.create(
        id=step_id,
        deviation=deviation,
        kind=kind,
        text=text.strip(),
        lot=lot,
        disposition=disposition if lot else "",
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="deviation.step",
        subject=f"step:{step.id}",
        body=sealing.step_body(step),
        actor=scope.actor,
        at=now,
    )
    if lot is not None and disposition == CorrectiveStep.Disposition.NOT_TOUCHED:
        _lift_not_touched(scope, deviation, lot, step, now)
    return step


@transaction.atomic
def disposition_add_many(
    *,
    scope: Scope,
    request_id: UUID,
    deviation_id: UUID,
    lot_ids: Sequence[UUID],
    disposition: str,
    text: str,
    now: datetime | None = None,
) -> list[CorrectiveStep]:
    """One decision with one reason for several lots, each with a step of its own. All or none.

    The same request_id sent again gives what is already there. Raises what step_add raises, and ActionError without a
    lot.
    """
    if not lot_ids:
        raise ActionError("Choose at least one group of lots.", field="lots")
    now = now or timezone.now()
    return [
        step_add(
            scope=scope,
            step_id=uuid5(request_id, str(lot_id)),
            deviation_id=deviation_id,
            kind=Kind.DISPOSITION,
            text=text,
            lot_id=lot_id,
            disposition=disposition,
            now=now,
        )
        for lot_id in dict.fromkeys(lot_ids)
    ]


def _lift_not_touched(scope: Scope, deviation: Deviation, lot: Lot, step: CorrectiveStep, now: datetime) -> None:
    """What was narrowed out, with its reason, goes on at once; what else holds it goes on holding it."""
    for hold in Hold.objects.standing().filter(cause=deviation.hold_cause, lot=lot):
        lots.hold_lift(scope=scope, hold=hold, reason=f"{deviation.reference}: not touched. {step.text}", at=now)


def _content(step: CorrectiveStep) -> tuple[object, ...]:
    return step.deviation_id, step.kind, step.text, step.lot_id, step.disposition


def deviation_for_update(scope: Scope, deviation_id: UUID) -> Deviation:
    """The deviation, locked, within the premises. Raises ActionError when there is none."""
    deviation = (
        Deviation.objects.select_for_update(of=("self",)).for_premises(scope.premises).filter(id=deviation_id).first()
    )
    if deviation is None:
        raise ActionError("There is no such deviation at this dairy.")
    return deviation


def _lot(scope: Scope, deviation: Deviation, kind: str, lot_id: UUID | None, disposition: str) -> Lot | None:
    if kind != Kind.DISPOSITION:
        return None
    if disposition not in CorrectiveStep.Disposition.values:
        raise ActionError("Choose what happens to the product.", field="disposition")
    if disposition == CorrectiveStep.Disposition.NOT_TOUCHED:
        scope.require(Right.CLOSE_DEVIATION)
    lot = Lot.objects.filter(implicated_by__deviation=deviation, id=lot_id).first() if lot_id else None
    if lot is None:
        raise ActionError("Choose one of the lots that this deviation implicates.", field="lot")
    return lot
