"""Reads of the ledger: heads, proofs, and the entries about a subject."""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, QuerySet, Window
from django.db.models.functions import Lag

from haccp.ledger import merkle
from haccp.ledger.errors import LedgerError
from haccp.ledger.head import Head, fingerprint
from haccp.ledger.merkle import Address
from haccp.ledger.models import Entry, Log

__all__ = ["Head", "Inclusion", "consistency", "entries_for", "fingerprint", "head", "inclusion", "nodes"]

ROWS_PER_QUERY = 500
CLOCK_STEP = dt.timedelta(minutes=1)  # less is what several hosts differ by, and what a service of time corrects


@dataclass(frozen=True, slots=True)
class Inclusion:
    """Proof that a leaf stands at `index` in the log with this head. Hashes are hexadecimal, nearest first."""

    head: Head
    index: int
    leaf_hex: str
    proof: list[str]


def head(log_id: uuid.UUID, *, size: int | None = None) -> Head:
    """The head of a log: now, or as it was at an earlier size.

    Errors: Log.DoesNotExist; LedgerError for a size that the log has not reached.
    """
    log = Log.objects.get(pk=log_id)
    if size is None or size == log.size:
        return Head(log.size, log.frontier.root().hex())
    _refuse_beyond(log, size)
    span = (0, size)
    return Head(size, merkle.root_of_span(span, nodes(log_id, merkle.addresses(span))).hex())


def nodes(log_id: uuid.UUID, addresses: Iterable[Address]) -> dict[Address, bytes]:
    """Roots of complete subtrees, by address. One query for each 500 of them; those not in the log are left out."""
    places: dict[int, list[Address]] = {}
    for level, position in set(addresses):
        places.setdefault(((position + 1) << level) - 1, []).append((level, position))
    found: dict[Address, bytes] = {}
    indices = sorted(places)
    for first in range(0, len(indices), ROWS_PER_QUERY):
        rows = Entry.objects.filter(log_id=log_id, index__in=indices[first : first + ROWS_PER_QUERY])
        for index, leaf_hash, subtrees in rows.values_list("index", "leaf_hash", "subtrees"):
            hashes = [leaf_hash, *subtrees]
            found |= {address: bytes.fromhex(hashes[address[0]]) for address in places[index]}
    return found


def inclusion(entry: Entry, *, size: int | None = None) -> Inclusion:
    """Proof that an entry is in its log, as the log is now or was at an earlier size. O(log n) rows.

    Errors: LedgerError for a size that the log has not reached; ValueError for one before the entry.
    """
    at = head(entry.log_id, size=size)
    spans = merkle.inclusion_spans(entry.index, at.size)
    known = nodes(entry.log_id, [address for span in spans for address in merkle.addresses(span)])
    proof = [hashed.hex() for hashed in merkle.inclusion_proof(entry.index, at.size, known)]
    return Inclusion(at, entry.index, entry.leaf_hash, proof)


def consistency(log_id: uuid.UUID, *, first: int, second: int) -> list[str]:
    """Proof, in hexadecimal, that the log of `first` entries is the beginning of that of `second`. O(log n) rows.

    Errors: Log.DoesNotExist; LedgerError for a size that the log has not reached; ValueError where first > second.
    """
    return consistencies(log_id, firsts=[first], second=second)[first]


def consistencies(log_id: uuid.UUID, *, firsts: Iterable[int], second: int) -> dict[int, list[str]]:
    """As consistency, of several earlier sizes at once, by size: the rows that they share are read once."""
    _refuse_beyond(Log.objects.get(pk=log_id), second)
    sizes = sorted(set(firsts))
    spans = [span for size in sizes for span in merkle.consistency_spans(size, second)]
    known = nodes(log_id, [address for span in spans for address in merkle.addresses(span)])
    return {size: [hashed.hex() for hashed in merkle.consistency_proof(size, second, known)] for size in sizes}


def entries_for(subject: str, *, log_id: uuid.UUID | None = None) -> QuerySet[Entry]:
    """The entries about a subject, oldest first; in one log, or in any."""
    entries = Entry.objects.filter(subject=subject).order_by("log", "index")
    return entries if log_id is None else entries.filter(log_id=log_id)


@dataclass(frozen=True, slots=True)
class SetBack:
    """An entry sealed at an earlier moment than the one before it: the service's clock was set back between them."""

    index: int
    before: dt.datetime
    recorded_at: dt.datetime


def set_back(log_id: uuid.UUID, *, by: dt.timedelta = CLOCK_STEP) -> list[SetBack]:
    """Where a log's clock went back by more than so much, in order. The order of entries is that of sealing, whatever
    the clock said, so that nothing is hidden by turning it."""
    before = Window(Lag("recorded_at"), order_by="index")
    found = Entry.objects.filter(log_id=log_id).annotate(before=before).filter(before__gt=F("recorded_at") + by)
    return [SetBack(*row) for row in found.order_by("index").values_list("index", "before", "recorded_at")]


def _refuse_beyond(log: Log, size: int) -> None:
    if size > log.size:
        raise LedgerError(f"The log {log.key} has {log.size} entries; it never had {size}.")
