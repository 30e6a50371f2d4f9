"""What the ledger says of invitations: that a role was offered, by whom and until when; not to which address."""

from haccp.access.models import Invitation
from haccp.ledger.sealed_rows import register_rows

PREFIX = "invitation"
SENT = "invitation.sent"


def invitation_body(invitation: Invitation) -> dict[str, object]:
    return {
        "premises": invitation.premises_id,
        "role": invitation.role,
        "token_sha256": invitation.token_sha256,
        "invited_by": invitation.invited_by_id,
        "invited_at": invitation.invited_at,
        "expires_at": invitation.expires_at,
    }


def register() -> None:
    register_rows(SENT, prefix=PREFIX, rows=Invitation.objects.all, body=invitation_body, log_key="premises__log__key")
