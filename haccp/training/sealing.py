"""What the ledger says of a training: made the same way when a row is sealed and when it is verified."""

from haccp.ledger.sealed_rows import register_rows
from haccp.training.models import Training


def training_body(one: Training) -> dict[str, object]:
    return {
        "person": one.person_id,
        "subject": one.subject,
        "given_by": one.given_by,
        "given_on": one.given_on,
        "valid_until": one.valid_until,
        "note": one.note,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def register() -> None:
    register_rows(
        "training.given",
        prefix="training",
        rows=Training.objects.all,
        body=training_body,
        log_key="premises__log__key",
    )
