"""What the ledger says of a plan's upkeep: made the same way when a row is sealed and when it is verified."""

from haccp.ledger.sealed_rows import register_rows
from haccp.plan.models import ReviewOccasion


def occasion_body(occasion: ReviewOccasion) -> dict[str, object]:
    return {
        "kind": occasion.kind,
        "description": occasion.description,
        "occurred": occasion.occurred_at,
        "recorded": occasion.recorded_at,
        "by": occasion.recorded_by_id,
    }


def register() -> None:
    register_rows(
        "plan.review_occasion",
        prefix="review_occasion",
        rows=ReviewOccasion.objects.all,
        body=occasion_body,
        log_key="premises__log__key",
    )
