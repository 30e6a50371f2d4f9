"""What the ledger says of deviations: made the same way when a row is sealed and when it is verified."""

from haccp.deviations.models import Closure, CorrectiveStep, Deviation
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def deviation_body(deviation: Deviation) -> Body:
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
        "implicated": sorted([[str(one.lot_id), one.why] for one in deviation.implicated.all()]),
    }


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


def closure_body(closure: Closure) -> Body:
    return {
        "deviation": closure.deviation_id,
        "signature": closure.signature_id,
        "by": closure.closed_by_id,
        "closed": closure.closed_at,
    }


def register() -> None:
    register_rows(
        "deviation.opened",
        prefix="deviation",
        rows=lambda: Deviation.objects.prefetch_related("implicated"),
        body=deviation_body,
        log_key="premises__log__key",
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
