"""Entries with their proofs as one JSON document, which `standalone/verify_records.py` checks without this service.

The document: `format`, `log` (key), `size` and `root` (the head that the proofs lead to), `entries`, `heads` (signed
heads, each with an RFC 9162 consistency proof to `root`), and `names` (commitment -> salt and name, for those of the
entries that were not erased). An entry carries `index`, `kind`, `subject`, `body` (the sealed text
itself, canonical JSON), `recorded_at`, `actor`, `leaf_hash` and `proof`, an RFC 9162 inclusion proof in
hexadecimal, nearest hash first.
"""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import TypedDict

from django.utils import timezone

from haccp.ledger import canonical, merkle, personal, queries, signed_heads
from haccp.ledger.models import Entry, Log, SignedHead

FORMAT = "ledger-export/2"
EARLIER_HEADS = 12


class ExportedEntry(TypedDict):
    index: int
    kind: str
    subject: str
    body: str
    recorded_at: str
    actor: str
    leaf_hash: str
    proof: list[str]


class Export(TypedDict):
    format: str
    log: str
    size: int
    root: str
    entries: list[ExportedEntry]
    heads: list[Mapping[str, object]]
    names: dict[str, dict[str, str]]


def export_subjects(*, log_id: uuid.UUID, subjects: Iterable[str]) -> Export:
    """All entries of a log about the subjects, oldest first, with their proofs to the head of this moment.

    The head is signed for it, and the heads signed before are given with it. A subject that the log does not know
    adds no entry. Errors: Log.DoesNotExist.
    """
    signed = signed_heads.sign_head(log_id=log_id, at=timezone.now())
    log = Log.objects.get(pk=log_id)
    head = queries.Head(signed.size, signed.root_hex)
    wanted = sorted(set(subjects))
    entries = [
        entry
        for first in range(0, len(wanted), queries.ROWS_PER_QUERY)
        for entry in Entry.objects.filter(
            log_id=log_id, index__lt=head.size, subject__in=wanted[first : first + queries.ROWS_PER_QUERY]
        )
    ]
    entries.sort(key=lambda entry: entry.index)
    return Export(
        format=FORMAT,
        log=log.key,
        size=head.size,
        root=head.root_hex,
        entries=_with_proofs(log_id, entries, head.size),
        heads=_heads(log_id, head.size),
        names=_names(entries),
    )


def _heads(log_id: uuid.UUID, size: int) -> list[Mapping[str, object]]:
    """The last few signed heads up to this size, the oldest first."""
    found = SignedHead.objects.filter(log_id=log_id, size__lte=size).order_by("-size")[: EARLIER_HEADS + 1]
    return signed_heads.as_exported(list(reversed(found)), log_id=log_id, size=size)


def _names(entries: Sequence[Entry]) -> dict[str, dict[str, str]]:
    """Who did it and who signed, of these entries; a name that was erased is left out."""
    references = {entry.actor for entry in entries}
    references |= {name for entry in entries if (name := _signer(entry))}
    return {
        reference: {"salt": found.salt, "text": found.text}
        for reference, found in sorted(personal.texts_of(references).items())
        if found.erased_at is None
    }


def _signer(entry: Entry) -> str:
    if entry.kind != "signature":
        return ""
    body = canonical.loads(entry.body)
    return str(body.get("printed_name", "")) if isinstance(body, dict) else ""


def _with_proofs(log_id: uuid.UUID, entries: Sequence[Entry], size: int) -> list[ExportedEntry]:
    """Neighbouring entries share most of their proofs' subtrees: each is read once."""
    spans = {span for entry in entries for span in merkle.inclusion_spans(entry.index, size)}
    known = queries.nodes(log_id, {address for span in spans for address in merkle.addresses(span)})
    return [
        ExportedEntry(
            index=entry.index,
            kind=entry.kind,
            subject=entry.subject,
            body=entry.body,
            recorded_at=str(canonical.to_json(entry.recorded_at)),
            actor=entry.actor,
            leaf_hash=entry.leaf_hash,
            proof=[hashed.hex() for hashed in merkle.inclusion_proof(entry.index, size, known)],
        )
        for entry in entries
    ]
