"""What the ledger says of what was sent."""

from haccp.ledger.sealed_rows import register_rows
from haccp.notices.models import Sent


def sent_body(row: Sent) -> dict[str, object]:
    return {
        "notice": row.delivery.notice_id,
        "channel": row.delivery.channel,
        "address": row.address,
        "subject": row.subject,
        "sent": row.sent_at,
    }


def register() -> None:
    register_rows(
        "notice.sent",
        prefix="sent",
        rows=lambda: Sent.objects.select_related("delivery"),
        body=sent_body,
        log_key="delivery__notice__membership__premises__log__key",
    )
