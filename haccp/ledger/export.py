"""Entries with their proofs as one JSON document, which `standalone/verify_records.py` checks without this service.

The document: `format`, `log` (key), `size` and `root` (the head that the proofs lead to), `entries`, and
`signatures` (room for signed heads). An entry carries `index`, `kind`, `subject`, `body` (the sealed text
itself, canonical JSON), `recorded_at`, `actor`, `leaf_hash` and `proof`, an RFC 9162 inclusion proof in
hexadecimal, nearest hash first.
"""

import uuid
from collections.abc import Iterable, Sequence
from typing import TypedDict

from haccp.ledger import canonical, merkle, queries
from haccp.ledger.models import Entry, Log

FORMAT = "ledger-export/1"


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
    signatures: list[dict[str, str]]


def export_subjects(*, log_id: uuid.UUID, subjects: Iterable[str]) -> Export:
    """All entries of a log about the subjects, oldest first, with their proofs to the head of this moment.

    A subject that the log does not know adds no entry. Errors: Log.DoesNotExist.
    """
    log = Log.objects.get(pk=log_id)
    head = queries.head(log_id, size=log.size)
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
        signatures=[],
    )


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
