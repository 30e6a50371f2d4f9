"""What the ledger says of permissions: made the same way when a role is given or ended and when it is verified."""

from haccp.ledger.sealed_rows import register_rows
from haccp.premises.models import Membership

PREFIX = "membership"
GIVEN = "membership.granted"
ENDED = "membership.ended"


def given_body(membership: Membership) -> dict[str, object]:
    return {
        "user": membership.user_id,
        "premises": membership.premises_id,
        "role": membership.role,
        "since": membership.since,
        "until": membership.until,
        "given_by": membership.given_by_id,
    }


def ended_body(membership: Membership) -> dict[str, object]:
    return {"user": membership.user_id, "left_at": membership.left_at, "ended_by": membership.ended_by_id}


def register() -> None:
    register_rows(GIVEN, prefix=PREFIX, rows=Membership.objects.all, body=given_body, log_key="premises__log__key")
    register_rows(
        ENDED,
        prefix=PREFIX,
        rows=Membership.objects.filter(left_at__isnull=False).all,
        body=ended_body,
        log_key="premises__log__key",
    )
