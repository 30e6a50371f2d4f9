"""Heads signed with Ed25519: what the service says that a log was, in a form that it cannot take back.

What is signed is the canonical JSON (RFC 8785) of log, size, root and moment: `message`.
"""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence

from django.db import transaction

from haccp.ledger import canonical, queries, signing_key
from haccp.ledger.models import Log, SignedHead

PURPOSE = "signed-head/1"


def message(*, log: str, size: int, root: str, signed_at: dt.datetime) -> bytes:
    """The bytes that a head's signature is over."""
    return canonical.dumps({"purpose": PURPOSE, "log": log, "size": size, "root": root, "signed_at": signed_at})


@transaction.atomic
def sign_head(*, log_id: uuid.UUID, at: dt.datetime) -> SignedHead:
    """Signs the log as it stands, once for each size. Errors: Log.DoesNotExist."""
    log = Log.objects.select_for_update().get(pk=log_id)
    there = SignedHead.objects.filter(log=log, size=log.size).first()
    if there is not None:
        return there
    root = log.frontier.root().hex()
    signed = message(log=log.key, size=log.size, root=root, signed_at=at)
    return SignedHead.objects.create(
        log=log,
        size=log.size,
        root_hex=root,
        signed_at=at,
        public_key=signing_key.public_hex(),
        signature=signing_key.sign(signed).hex(),
    )


def latest(log_id: uuid.UUID) -> SignedHead | None:
    return SignedHead.objects.filter(log_id=log_id).order_by("-size").first()


def holds(head: SignedHead, *, log_key: str) -> bool:
    """Whether the signature is over this head, by the key that it names."""
    signed = message(log=log_key, size=head.size, root=head.root_hex, signed_at=head.signed_at)
    return signing_key.fits(public_key=head.public_key, message=signed, signature=head.signature)


def as_exported(heads: Sequence[SignedHead], *, log_id: uuid.UUID, size: int) -> list[Mapping[str, object]]:
    """For an export of the log at `size`: each head, with the proof that the log only grew from it to there."""
    proofs = queries.consistencies(log_id, firsts=[head.size for head in heads], second=size)
    return [
        {
            "size": head.size,
            "root": head.root_hex,
            "signed_at": str(canonical.to_json(head.signed_at)),
            "public_key": head.public_key,
            "signature": head.signature,
            "consistency": proofs[head.size],
        }
        for head in heads
    ]
