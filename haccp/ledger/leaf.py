"""What one entry commits to: the bytes of its leaf."""

import datetime as dt

from haccp.ledger import canonical, merkle


def leaf_hash(
    *, log_key: str, index: int, kind: str, subject: str, body: str, recorded_at: dt.datetime, actor: str
) -> bytes:
    """Leaf hash of an entry: RFC 9162 leaf over the RFC 8785 form of all its fields.

    The body goes in as the text that is kept, so that nobody has to write its numbers again to check the hash;
    log and index go in so that an entry cannot be moved.
    """
    return merkle.leaf_hash(
        canonical.dumps(
            {
                "actor": actor,
                "body": body,
                "index": index,
                "kind": kind,
                "log": log_key,
                "recorded_at": recorded_at,
                "subject": subject,
            }
        )
    )
