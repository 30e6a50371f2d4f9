"""Every write to the ledger. There is no other: entries are added, and nothing is ever changed."""

import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from django.db import transaction
from django.db.models import Field, Model
from django.utils import timezone

from haccp.ledger import canonical, leaf, personal, signatures
from haccp.ledger.bulk import FEW, among, insert
from haccp.ledger.errors import LedgerError
from haccp.ledger.merkle import Frontier
from haccp.ledger.models import Entry, Log, PersonalText, Signature
from haccp.ledger.sealed_rows import subject_of

_ARTICLE: dict[type[Model], str] = {Log: "a log", Entry: "an entry", Signature: "a signature"}


@dataclass(frozen=True, slots=True)
class Sealing:
    """One fact to be sealed. kind: stable name of what it is; subject: what it is about, such as `record:UUID`."""

    kind: str
    subject: str
    body: Mapping[str, object]


@transaction.atomic
def open_log(*, key: str, at: dt.datetime | None = None) -> Log:
    """Open an empty log. at: now, unless given.

    Errors: LedgerError for an unfit key; IntegrityError for one in use.
    """
    _refuse_unfit(Log, key=key)
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

    actor: who did it, as text that will still mean something in ten years; the entry holds a commitment to it, so
    that the name can be erased (personal.py). at: the moment it was recorded.
    Must run in the transaction that writes the row it seals, so that neither is ever there without the other.
    Errors: LedgerError outside a transaction, for a log that does not exist, or where somebody else appended
    meanwhile; canonical.NotCanonicalError for a body or moment that cannot be sealed.
    """
    return seal_across({log_id: sealings}, actor=actor, at=at)[log_id]


def seal_across(
    sealings: Mapping[uuid.UUID, Iterable[Sealing]], *, actor: str, at: dt.datetime
) -> dict[uuid.UUID, list[Entry]]:
    """Seal facts of several logs at once: as `seal_many` for each, in a constant number of queries.

    Log's id -> its facts in order. The logs are locked in the order of their ids, so that two that do this at once
    wait for one another and never for good. Errors: as `seal_many`.
    """
    if not transaction.get_connection().in_atomic_block:
        raise LedgerError("Seal in the transaction that writes the row: call this inside transaction.atomic().")
    locked = Log.objects.select_for_update(no_key=True).filter(pk__in=among(list(sealings)))
    locked = locked.annotate(known=personal.commitment_in("pk", actor)).order_by("pk")
    logs = {row[0]: _Head(*row) for row in locked.values_list("pk", "key", "size", "peaks", "known")}
    for log_id in sealings:
        if log_id not in logs:
            raise LedgerError(f"There is no log {log_id}: open it before anything is sealed in it.")
    _refuse_unfit(Entry, actor=actor)
    facts_of = {log_id: list(facts) for log_id, facts in sealings.items()}
    # A name that the statement above did not see may be there by now: it may have waited for whoever put it there.
    unknown = [log_id for log_id, facts in facts_of.items() if facts and logs[log_id].known is None]
    who = {log_id: personal.SCHEME + log.known for log_id, log in logs.items() if log.known is not None}
    who |= personal.references(unknown, actor) if unknown else {}
    entries: dict[uuid.UUID, list[Entry]] = {}
    moved: dict[uuid.UUID, Frontier] = {}
    for log_id, facts in facts_of.items():
        log = logs[log_id]
        frontier, entries[log_id] = Frontier(log.size, tuple(bytes.fromhex(peak) for peak in log.peaks)), []
        for sealing in facts:
            entry, frontier = _append(log, frontier, sealing, who[log_id], at)
            entries[log_id].append(entry)
        moved[log_id] = frontier
    _store(logs, moved, [entry for found in entries.values() for entry in found])
    return entries


class _Head(NamedTuple):
    """What appending needs of a log."""

    pk: uuid.UUID
    key: str
    size: int
    peaks: list[str]
    known: str | None  # the commitment behind which who seals stands already


def _store(logs: Mapping[uuid.UUID, _Head], moved: Mapping[uuid.UUID, Frontier], entries: list[Entry]) -> None:
    """Entries and frontiers. The few of one log, which is what a person seals, in one statement on PostgreSQL: each
    further one would cost as much as all that is done here otherwise."""
    connection = transaction.get_connection()
    if connection.vendor != "postgresql" or len(moved) != 1 or not 0 < len(entries) < FEW:
        insert(entries)
        _move_on(logs, moved)
        return
    ((log_id, frontier),) = moved.items()
    quote = connection.ops.quote_name
    names = [quote(_column(model, name)) for model, wanted in _STORED for name in wanted]
    columns = [
        [one.index for one in entries],
        [one.kind for one in entries],
        [one.subject for one in entries],
        [one.body for one in entries],
        [one.leaf_hash for one in entries],
        [json.dumps(one.subtrees) for one in entries],
        [one.recorded_at for one in entries],
        [one.actor for one in entries],
    ]
    peaks = json.dumps([peak.hex() for peak in frontier.peaks])
    sql = _STORE_FEW.format(quote(Log._meta.db_table), quote(Entry._meta.db_table), *names)
    with connection.cursor() as cursor:
        cursor.execute(sql, [frontier.size, peaks, log_id, logs[log_id].size, *columns])
        key_of = {index: key for key, index in cursor.fetchall()}
    if len(key_of) != len(entries):
        raise _overtaken(logs, moved)
    for entry in entries:
        entry.pk = key_of[entry.index]
        entry._state.adding, entry._state.db = False, connection.alias


_STORED: tuple[tuple[type[Model], tuple[str, ...]], ...] = (
    (Log, ("id", "size", "peaks")),
    (Entry, ("log", "index", "kind", "subject", "body", "leaf_hash", "subtrees", "recorded_at", "actor", "id")),
)
_STORE_FEW = (
    "WITH moved AS (UPDATE {0} SET {3} = %s, {4} = %s WHERE {2} = %s AND {3} = %s RETURNING {2})"
    " INSERT INTO {1} ({5}, {6}, {7}, {8}, {9}, {10}, {11}, {12}, {13})"
    " SELECT moved.{2}, new.index, new.kind, new.subject, new.body, new.leaf, new.subtrees::jsonb, new.at, new.actor"
    " FROM moved CROSS JOIN unnest(%s::bigint[], %s::text[], %s::text[], %s::text[], %s::text[], %s::text[],"
    " %s::timestamptz[], %s::text[]) AS new (index, kind, subject, body, leaf, subtrees, at, actor)"
    " ORDER BY new.index RETURNING {14}, {6}"
)


def _move_on(logs: Mapping[uuid.UUID, _Head], moved: Mapping[uuid.UUID, Frontier]) -> None:
    """By compare-and-set on the size of each log. A CASE over hundreds of rows would cost more than all the rest."""
    connection = transaction.get_connection()
    quote = connection.ops.quote_name
    names = [quote(_column(Log, name)) for name in ("id", "size", "peaks")]
    rows = [
        (log_id, logs[log_id].size, frontier.size, json.dumps([peak.hex() for peak in frontier.peaks]))
        for log_id, frontier in moved.items()
    ]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_MOVE_TOGETHER.format(quote(Log._meta.db_table), *names), _columns(rows))
        else:
            key = Log._meta.pk
            in_order = [(size, peaks, key.get_db_prep_save(pk, connection), was) for pk, was, size, peaks in rows]
            cursor.executemany(_MOVE_EACH.format(quote(Log._meta.db_table), *names), in_order)
        changed = cursor.rowcount
    if changed != len(moved):
        raise _overtaken(logs, moved)


def _overtaken(logs: Mapping[uuid.UUID, _Head], moved: Mapping[uuid.UUID, Frontier]) -> LedgerError:
    first = logs[next(iter(moved))]
    which = f"the log {first.key}" if len(moved) == 1 else f"one of {len(moved)} logs"
    return LedgerError(f"Somebody else appended to {which} meanwhile: nothing was saved; try again.")


_MOVE_TOGETHER = (
    "UPDATE {0} AS old SET {2} = new.size, {3} = new.peaks"
    " FROM unnest(%s::uuid[], %s::bigint[], %s::bigint[], %s::jsonb[]) AS new (id, was, size, peaks)"
    " WHERE old.{1} = new.id AND old.{2} = new.was"
)
_MOVE_EACH = "UPDATE {0} SET {2} = %s, {3} = %s WHERE {1} = %s AND {2} = %s"


def _columns(rows: list[tuple[uuid.UUID, int, int, str]]) -> list[list[object]]:
    return [[row[place] for row in rows] for place in range(4)]


def _column(model: type[Model], name: str) -> str:
    found = model._meta.get_field(name)
    assert isinstance(found, Field)
    return str(found.column)


def _append(log: _Head, frontier: Frontier, sealing: Sealing, actor: str, at: dt.datetime) -> tuple[Entry, Frontier]:
    _refuse_unfit(Entry, kind=sealing.kind, subject=sealing.subject)
    entry = Entry(
        log_id=log.pk,
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


def _refuse_unfit(model: type[Model], **texts: str) -> None:
    """SQLite would keep what PostgreSQL refuses: the same answer on both, before anything is hashed."""
    for name, given in texts.items():
        most = _longest(model, name)
        if not given.strip() or "\x00" in given or (most is not None and len(given) > most):
            size = f"1 to {most} characters" if most else "1 character or more"
            raise LedgerError(
                f"The {name.replace('_', ' ')} of {_ARTICLE[model]} is text of {size} without NUL,"
                f" which {given[:80]!r} is not."
            )


@cache
def _longest(model: type[Model], name: str) -> int | None:
    found = model._meta.get_field(name)
    assert isinstance(found, Field)
    return found.max_length


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
    Errors: LedgerError for an empty or overlong name, meaning, statement or method, and those of `seal_many`.
    """
    _refuse_unfit(
        Signature,
        signer_id=str(signer_id),
        printed_name=printed_name,
        meaning=meaning,
        statement=statement,
        method=method,
    )
    shown = canonical.text(content)
    Log.objects.select_for_update().filter(pk=log_id).first()
    signature = Signature.objects.create(
        log_id=log_id,
        signer_id=str(signer_id),
        printed_name=printed_name,
        name_reference=personal.references([log_id], printed_name)[log_id],
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
        body=signatures.body(signature, signature.name_reference),
        actor=f"{signer_id} {printed_name}",
        at=at,
    )
    return signature


@transaction.atomic
def erase_personal(*, log_id: uuid.UUID, texts: Iterable[str], reason: str, actor: str, at: dt.datetime) -> int:
    """Erases names from a log on lawful request: name and salt go, every proof still holds, and that it was done,
    why and by whom is sealed. Returns how many names were there.

    texts: as they were given for `actor` or `printed_name`. Errors: LedgerError without a reason.
    """
    if not reason.strip():
        raise LedgerError("Say why the name is erased: the request, and the law that it rests on.")
    Log.objects.select_for_update().get(pk=log_id)
    erased = list(PersonalText.objects.filter(log_id=log_id, text__in=list(texts), erased_at__isnull=True))
    for found in erased:
        reference = personal.SCHEME + found.commitment
        personal.erase(found, reason=reason[:300], at=at)
        Signature.objects.filter(log_id=log_id, name_reference=reference).update(printed_name=personal.ERASED_WORDS)
    seal_many(
        log_id=log_id,
        sealings=[
            Sealing(personal.ERASED, subject_of(personal.PREFIX, found), personal.erased_body(found))
            for found in erased
        ],
        actor=actor,
        at=at,
    )
    return len(erased)
