"""Entries with their proofs as one JSON document, which `standalone/verify_records.py` checks without this service.

The document: `format`, `log` (key), `size` and `root` (the head that the proofs lead to), `entries`, `heads` (signed
heads, each with an RFC 9162 consistency proof to `root`), and `names` (commitment -> salt and name, for those of the
entries that were not erased). An entry carries `index`, `kind`, `subject`, `body` (the sealed text
itself, canonical JSON), `recorded_at`, `actor`, `leaf_hash` and `proof`, an RFC 9162 inclusion proof in
hexadecimal, nearest hash first.
"""

import uuid
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class StreamedExport:
    """The same in parts that are written one after the other: what stands at the head, the entries a few hundred at a
    time, and what stands after them (`names` knows all of them only when the last was read).
    """

    format: str
    log: str
    size: int
    root: str
    entries: Iterator[ExportedEntry]
    heads: list[Mapping[str, object]]
    names: Callable[[], dict[str, dict[str, str]]]


def export_subjects(*, log_id: uuid.UUID, subjects: Iterable[str]) -> Export:
    """All entries of a log about the subjects, oldest first, with their proofs to the head of this moment.

    The head is signed for it, and the heads signed before are given with it. A subject that the log does not know
    adds no entry. Errors: Log.DoesNotExist.
    """
    streamed = stream_subjects(log_id=log_id, subjects=subjects)
    return Export(
        format=streamed.format,
        log=streamed.log,
        size=streamed.size,
        root=streamed.root,
        entries=list(streamed.entries),
        heads=streamed.heads,
        names=streamed.names(),
    )


def stream_subjects(*, log_id: uuid.UUID, subjects: Iterable[str]) -> StreamedExport:
    """The same, of which no more than a few hundred entries stand in memory at once."""
    signed = signed_heads.sign_head(log_id=log_id, at=timezone.now())
    log = Log.objects.get(pk=log_id)
    references: set[str] = set()
    return StreamedExport(
        format=FORMAT,
        log=log.key,
        size=signed.size,
        root=signed.root_hex,
        entries=_entries(log_id, _indices(log_id, subjects, signed.size), signed.size, references),
        heads=_heads(log_id, signed.size),
        names=lambda: _names(references),
    )


def _indices(log_id: uuid.UUID, subjects: Iterable[str], size: int) -> Sequence[int]:
    """Places of the entries about the subjects, in order."""
    wanted = sorted(set(subjects))
    found: set[int] = set()
    for first in range(0, len(wanted), queries.ROWS_PER_QUERY):
        group = wanted[first : first + queries.ROWS_PER_QUERY]
        rows = Entry.objects.filter(log_id=log_id, index__lt=size, subject__in=group)
        found.update(rows.values_list("index", flat=True))
    return array("q", sorted(found))


def _entries(log_id: uuid.UUID, indices: Sequence[int], size: int, references: set[str]) -> Iterator[ExportedEntry]:
    """references: gets who did and who signed them."""
    kept: dict[merkle.Address, bytes] = {}
    for first in range(0, len(indices), queries.ROWS_PER_QUERY):
        group = indices[first : first + queries.ROWS_PER_QUERY]
        rows = Entry.objects.filter(log_id=log_id, index__in=group).order_by("index")
        entries = list(rows.defer("subtrees"))
        for entry in entries:
            references |= {entry.actor} | ({signer} if (signer := _signer(entry)) else set())
        yield from _with_proofs(log_id, entries, size, kept)


def _heads(log_id: uuid.UUID, size: int) -> list[Mapping[str, object]]:
    """The last few signed heads up to this size, the oldest first."""
    found = SignedHead.objects.filter(log_id=log_id, size__lte=size).order_by("-size")[: EARLIER_HEADS + 1]
    return signed_heads.as_exported(list(reversed(found)), log_id=log_id, size=size)


def _names(references: set[str]) -> dict[str, dict[str, str]]:
    """Who did it and who signed; a name that was erased is left out."""
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


def _with_proofs(
    log_id: uuid.UUID, entries: Sequence[Entry], size: int, kept: dict[merkle.Address, bytes]
) -> Iterator[ExportedEntry]:
    """Neighbouring entries share most of their proofs' subtrees: each is read once. kept: those of the group before,
    of which this group's take the place."""
    needed = {
        address
        for entry in entries
        for span in merkle.inclusion_spans(entry.index, size)
        for address in merkle.addresses(span)
    }
    known = {address: kept[address] for address in needed & kept.keys()}
    known |= queries.nodes(log_id, needed - known.keys())
    kept.clear()
    kept.update(known)
    for entry in entries:
        yield ExportedEntry(
            index=entry.index,
            kind=entry.kind,
            subject=entry.subject,
            body=entry.body,
            recorded_at=str(canonical.to_json(entry.recorded_at)),
            actor=entry.actor,
            leaf_hash=entry.leaf_hash,
            proof=[hashed.hex() for hashed in merkle.inclusion_proof(entry.index, size, known)],
        )
