"""What the ledger says of recalls: made the same way when a row is sealed and when it is verified."""

from batches.recall.models import Recall, RecallMark
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def recall_body(recall: Recall) -> Body:
    return {
        "kind": recall.kind,
        "reason": recall.reason,
        "repeat_after_days": recall.repeat_after_days,
        "started": recall.started_at,
        "by": recall.started_by_id,
    }


def mark_body(mark: RecallMark) -> Body:
    return {
        "recall": mark.recall_id,
        "kind": mark.kind,
        "lot": mark.lot_id,
        "reach": mark.reach,
        "customer": mark.customer_id,
        "note": mark.note,
        "figures": mark.figures,
        "at": mark.at,
        "by": mark.by_id,
    }


def register() -> None:
    register_rows(
        "recall.started",
        prefix="recall",
        rows=Recall.objects.all,
        body=recall_body,
        log_key="premises__log__key",
    )
    register_rows(
        "recall.marked",
        prefix="recall_mark",
        rows=RecallMark.objects.all,
        body=mark_body,
        log_key="recall__premises__log__key",
    )
