"""Every write to the ledger. There is no other: entries are added, and nothing is ever changed."""

import datetime as dt
import hashlib
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from haccp.ledger import canonical, leaf, signatures
from haccp.ledger.errors import LedgerError
from haccp.ledger.merkle import Frontier
from haccp.ledger.models import Entry, Log, Signature

_LONGEST = {field.name: field.max_length or 0 for field in Entry._meta.fields}


@dataclass(frozen=True, slots=True)
class Sealing:
    """One fact to be sealed. kind: stable name of what it is; subject: what it is about, such as `record:UUID`."""

    kind: str
    subject: str
    body: Mapping[str, object]


@transaction.atomic
def open_log(*, key: str, at: dt.datetime | None = None) -> Log:
    """Open an empty log. at: now, unless given.

    Errors: LedgerError for an empty key; IntegrityError for one in use.
    """
    if not key.strip():
        raise LedgerError("A log needs a key that is not empty.")
    return Log.objects.create(key=key, opened_at=at or timezone.now())


def seal(
    *, log_id: uuid.UUID, kind: str, subject: str, body: Mapping[str, object], actor: str, at: dt.datetime
) -> Entry:
    """Seal one fact at the end of a log: as `seal_many`, of one."""
    return seal_many(log_id=log_id, sealings=[Sealing(kind, subject, body)], actor=actor, at=at)[0]


def seal_many(*, log_id: uuid.UUID, sealings: Iterable[Sealing], actor: str, at: dt.datetime) -> list[Entry]:
    """Seal facts at the end of a log, in the order given.

    1. Locks the log's row, so that one transaction at a time appends (SQLite's immediate transactions do it there).
    2. Hashes each entry with its place in the log, and appends it to the frontier.
    3. Inserts the entries and moves the frontier on, by compare-and-set on the size.

    actor: who did it, as text that will still mean something in ten years. at: the moment it was recorded.
    Must run in the transaction that writes the row it seals, so that neither is ever there without the other.
    Errors: LedgerError outside a transaction, for a log that does not exist, or where somebody else appended
    meanwhile; canonical.NotCanonicalError for a body or moment that cannot be sealed.
    """
    if not transaction.get_connection().in_atomic_block:
        raise LedgerError("Seal in the transaction that writes the row: call this inside transaction.atomic().")
    log = Log.objects.select_for_update().filter(pk=log_id).first()
    if log is None:
        raise LedgerError(f"There is no log {log_id}: open it before anything is sealed in it.")
    frontier, entries = log.frontier, []
    for sealing in sealings:
        entry, frontier = _append(log, frontier, sealing, actor, at)
        entries.append(entry)
    Entry.objects.bulk_create(entries, batch_size=500)
    moved = Log.objects.filter(pk=log.pk, size=log.size).update(
        size=frontier.size, peaks=[peak.hex() for peak in frontier.peaks]
    )
    if moved != 1:
        raise LedgerError(f"Somebody else appended to the log {log.key} meanwhile: nothing was saved; try again.")
    return entries


def _append(log: Log, frontier: Frontier, sealing: Sealing, actor: str, at: dt.datetime) -> tuple[Entry, Frontier]:
    for column, given in (("kind", sealing.kind), ("subject", sealing.subject), ("actor", actor)):
        _refuse_unfit(column, given)
    entry = Entry(
        log=log,
        index=frontier.size,
        kind=sealing.kind,
        subject=sealing.subject,
        body=canonical.text(sealing.body),
        recorded_at=at,
        actor=actor,
    )
    hashed = leaf.leaf_hash(
        log_key=log.key,
        index=entry.index,
        kind=entry.kind,
        subject=entry.subject,
        body=entry.body,
        recorded_at=entry.recorded_at,
        actor=entry.actor,
    )
    appended = frontier.append(hashed)
    entry.leaf_hash = hashed.hex()
    entry.subtrees = [root.hex() for root in appended.closed]
    return entry, appended.frontier


def _refuse_unfit(column: str, given: str) -> None:
    """SQLite would keep what PostgreSQL refuses: the same answer on both, before anything is hashed."""
    longest = _LONGEST[column]
    if not given.strip() or len(given) > longest or "\x00" in given:
        raise LedgerError(
            f"An entry's {column} is text of 1 to {longest} characters without NUL: {given[:80]!r} is not."
        )


@transaction.atomic
def sign(
    *,
    log_id: uuid.UUID,
    signer_id: uuid.UUID | str,
    printed_name: str,
    meaning: str,
    statement: str,
    content: Mapping[str, object],
    method: str,
    at: dt.datetime,
) -> Signature:
    """Keep a person's signature with exactly what they were shown, and seal it in the log.

    meaning: reviewed, approved, released ...; statement: the sentence that the person attested; method: how they
    proved who they are (`password`). The caller has asked for the password already.
    Errors: LedgerError for an empty name, meaning or statement, and those of `seal_many`.
    """
    for name, given in (("printed name", printed_name), ("meaning", meaning), ("statement", statement)):
        if not given.strip():
            raise LedgerError(f"A signature needs a {name}: none was given.")
    shown = canonical.text(content)
    signature = Signature.objects.create(
        log_id=log_id,
        signer_id=str(signer_id),
        printed_name=printed_name,
        meaning=meaning,
        statement=statement,
        content=shown,
        content_sha256=hashlib.sha256(shown.encode("utf-8")).hexdigest(),
        method=method,
        signed_at=at,
    )
    seal(
        log_id=log_id,
        kind=signatures.KIND,
        subject=signatures.subject(signature),
        body=signatures.body(signature),
        actor=printed_name,
        at=at,
    )
    return signature
