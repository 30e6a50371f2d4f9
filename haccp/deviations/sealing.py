"""What the ledger says of deviations: made the same way when a row is sealed and when it is verified."""

from collections.abc import Iterable

from haccp.deviations.models import (
    Closure,
    CorrectiveStep,
    Deviation,
    Evidence,
    ImplicatedLot,
    LotEnd,
    MissedAgain,
    Task,
    TaskDone,
    Widening,
)
from haccp.ledger.kept_bytes import agreed, sha256_of_inflated
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def _lots(implicated: Iterable[ImplicatedLot]) -> list[Body]:
    rows = sorted(implicated, key=lambda one: str(one.lot_id))
    return [{"lot": one.lot_id, "why": one.why, "way": one.way, "touched_from": one.touched_from} for one in rows]


def deviation_body(deviation: Deviation, implicated: Iterable[ImplicatedLot]) -> Body:
    """implicated: those found when it was opened."""
    return {
        "reference": deviation.reference,
        "cause": deviation.cause,
        "ruling": deviation.ruling_id,
        "missed": deviation.missed_id,
        "control_point": deviation.control_point_id,
        "summary": deviation.summary,
        "occurred": deviation.occurred_at,
        "opened": deviation.opened_at,
        "by": deviation.opened_by_id,
        "exposed_from": deviation.exposed_from,
        "origin_unknown": deviation.origin_unknown,
        "implicated": _lots(implicated),
    }


def missed_again_body(row: MissedAgain) -> Body:
    return {"deviation": row.deviation_id, "missed": row.missed_id, "joined": row.joined_at}


def step_body(step: CorrectiveStep) -> Body:
    return {
        "deviation": step.deviation_id,
        "kind": step.kind,
        "text": step.text,
        "lot": step.lot_id,
        "disposition": step.disposition,
        "recorded": step.recorded_at,
        "by": step.recorded_by_id,
    }


def widening_body(row: Widening) -> Body:
    return {
        "deviation": row.deviation_id,
        "reason": row.reason,
        "lots": _lots(row.lots.all()),
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def task_body(task: Task) -> Body:
    return {
        "deviation": task.deviation_id,
        "kind": task.kind,
        "title": task.title,
        "owner": task.owner_id,
        "due": task.due_on,
        "recorded": task.recorded_at,
        "by": task.recorded_by_id,
    }


def task_done_body(row: TaskDone) -> Body:
    return {"note": row.note, "worked": row.worked, "done": row.done_at, "by": row.done_by_id}


def evidence_body(row: Evidence) -> Body:
    """The hash of what is kept, taken from the file itself, so that a changed one is found."""
    return {
        "deviation": row.deviation_id,
        "filename": row.filename,
        "note": row.note,
        "sha256": agreed(sha256_of_inflated(row.deflated), row.sha256),
        "size": row.size_bytes,
        "attached": row.attached_at,
        "by": row.attached_by_id,
    }


def end_body(row: LotEnd) -> Body:
    return {
        "deviation": row.deviation_id,
        "lot": row.lot_id,
        "disposition": row.disposition,
        "note": row.note,
        "ended": row.ended_at,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def closure_body(closure: Closure) -> Body:
    return {
        "deviation": closure.deviation_id,
        "signature": closure.signature_id,
        "by": closure.closed_by_id,
        "closed": closure.closed_at,
    }


def _stored_deviation(deviation: Deviation) -> Body:
    return deviation_body(deviation, [one for one in deviation.implicated.all() if one.widening_id is None])


def register() -> None:
    register_rows(
        "deviation.opened",
        prefix="deviation",
        rows=lambda: Deviation.objects.prefetch_related("implicated"),
        body=_stored_deviation,
        log_key="premises__log__key",
    )
    register_rows(
        "deviation.missed_again",
        prefix="missed_again",
        rows=MissedAgain.objects.all,
        body=missed_again_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "deviation.step",
        prefix="step",
        rows=CorrectiveStep.objects.all,
        body=step_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "deviation.closed",
        prefix="closure",
        rows=Closure.objects.all,
        body=closure_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "deviation.widened",
        prefix="widening",
        rows=lambda: Widening.objects.prefetch_related("lots"),
        body=widening_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "deviation.task",
        prefix="task",
        rows=Task.objects.all,
        body=task_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "deviation.task_done",
        prefix="task_done",
        rows=TaskDone.objects.all,
        body=task_done_body,
        log_key="task__deviation__premises__log__key",
    )
    register_rows(
        "deviation.evidence",
        prefix="evidence",
        rows=lambda: Evidence.objects.defer("deflated"),
        body=evidence_body,
        log_key="deviation__premises__log__key",
    )
    register_rows(
        "lot.ended",
        prefix="lot_end",
        rows=LotEnd.objects.all,
        body=end_body,
        log_key="deviation__premises__log__key",
    )
