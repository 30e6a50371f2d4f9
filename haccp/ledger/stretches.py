"""Hashing whole stretches of a log at once, as fast as the entries can be read.

A stretch is an aligned run of 2**LEVEL entries, so that it is one complete subtree. It is read as plain text columns,
each leaf is written and hashed anew, and what is stored with the entries must be equal to the letter. Nothing is named
here: where a stretch does not fit, verification.py walks through it entry by entry and says what is wrong.
"""

import gc
import hashlib
import uuid
from collections import deque
from collections.abc import Collection, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from json.encoder import encode_basestring  # the standard library's, in C: as canonical.text writes a string
from multiprocessing import get_context
from typing import Any

from django.db import connection, connections

from haccp.ledger import personal
from haccp.ledger.models import Entry, Log

LEVEL = 10
LENGTH = 1 << LEVEL
RUN = 8 * LENGTH  # entries that one process reads at once

Row = tuple[Any, ...]
KIND, SUBJECT, BODY, LEAF_HASH, SUBTREES, MOMENT, ACTOR = range(1, 8)
SEPARATOR = "\x7f"  # stands in JSON as it is, and in no body but one that somebody typed it into
_CONTROL = bytes(range(0x20))


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch whose entries fit together. root: of its subtree; above: the subtrees beyond it that are stored with
    its last entry, as text; within: size of the log -> roots of the complete subtrees from the stretch's start to
    there, largest first."""

    root: bytes
    above: str
    within: dict[int, tuple[bytes, ...]]


def read(log_id: uuid.UUID, first: int, stop: int) -> Iterator[list[Row]]:
    """Entries first <= index < stop, LENGTH at a time. All of them may be in memory at once."""
    quote = connection.ops.quote_name
    names = {field.name: quote(str(field.column)) for field in Entry._meta.concrete_fields}
    sql = _READ.format(table=quote(Entry._meta.db_table), **names)
    key = Log._meta.pk.get_db_prep_value(log_id, connection)
    with connection.cursor() as cursor:
        cursor.execute(sql, [key, first, stop])
        while rows := cursor.fetchmany(LENGTH):
            yield rows


_READ = (
    "SELECT {index}, {kind}, {subject}, {body}, {leaf_hash}, CAST({subtrees} AS TEXT), CAST({recorded_at} AS TEXT),"
    " {actor} FROM {table} WHERE {log} = %s AND {index} >= %s AND {index} < %s ORDER BY {index}"
)


@dataclass(frozen=True, slots=True)
class Task:
    """A run of whole stretches for one process to read and check. sizes: as `check` takes them, for any of them."""

    log_id: uuid.UUID
    log_key: str
    first: int
    stop: int
    names: frozenset[str]
    sizes: tuple[int, ...] = ()


def check_run(task: Task) -> list[Stretch | None]:
    """Each stretch of the run, in order."""
    found: list[Stretch | None] = []
    first = task.first
    for rows in read(task.log_id, task.first, task.stop):
        wanted = [size for size in task.sizes if first < size < first + LENGTH]
        found.append(check(rows, first=first, log_key=task.log_key, names=task.names, sizes=wanted))
        first += LENGTH
    return found + [None] * ((task.stop - task.first) // LENGTH - len(found))


def check_runs(tasks: Iterable[Task], processes: int) -> Iterator[tuple[Task, list[Stretch | None]]]:
    """The runs in order, in so many processes, each with a connection of its own; a few at a time, so that memory is
    bounded. Not within a transaction, of which other connections see nothing."""
    if processes < 2:
        for task in tasks:
            yield task, check_run(task)
        return
    connections.close_all()  # what is open is not shared with a process forked from this one
    with ProcessPoolExecutor(processes, get_context("fork"), initializer=gc.disable) as pool:
        waiting: deque[tuple[Task, Future[list[Stretch | None]]]] = deque()
        for task in tasks:
            waiting.append((task, pool.submit(check_run, task)))
            if len(waiting) > 2 * processes:
                done, result = waiting.popleft()
                yield done, result.result()
        for done, result in waiting:
            yield done, result.result()


def check(
    rows: Sequence[Row], *, first: int, log_key: str, names: Collection[str], sizes: Sequence[int] = ()
) -> Stretch | None:
    """The stretch from entry `first`; None where anything in it does not fit.

    names: references behind which a name stands; sizes: of the log, within this stretch, at which its root is wanted.
    """
    if len(rows) != LENGTH:
        return None
    actors = {row[ACTOR] for row in rows}
    if [row[0] for row in rows] != list(range(first, first + LENGTH)) or not _are_known(actors, names):
        return None
    try:
        leaves = _leaves(log_key, rows, actors)
    except (UnicodeEncodeError, TypeError, ValueError):
        return None
    stored = [row[LEAF_HASH] for row in rows]
    if set(map(len, stored)) != {64} or b"".join(leaves).hex() != "".join(stored):
        return None
    subtrees = [row[SUBTREES] for row in rows]
    levels = _levels(leaves)
    expected = _closed(levels)
    above = _beyond(expected[-1], subtrees[-1])
    if above is None or expected[:-1] != subtrees[:-1]:
        return None
    return Stretch(levels[-1][0], above, {size: _peaks_to(levels, size - first) for size in sizes})


def _are_known(actors: Collection[str], names: Collection[str]) -> bool:
    return all(actor in names for actor in actors if personal.is_reference(actor))


def _leaves(log_key: str, rows: Sequence[Row], actors: Collection[str]) -> list[bytes]:
    """As leaf.leaf_hash, which writes one entry. What repeats is written and hashed once: a copy of a begun hash also
    costs less than a fresh one. Errors: ValueError and its kind for what cannot have been sealed."""
    begun = {actor: hashlib.sha256(f'\x00{{"actor":{encode_basestring(actor)},"body":"'.encode()) for actor in actors}
    log = encode_basestring(log_key)
    middle = {
        (kind, moment): f',"kind":{encode_basestring(kind)},"log":{log},"recorded_at":{_moment(moment)},"subject":"'
        for kind, moment in {(row[KIND], row[MOMENT]) for row in rows}
    }
    bodies, subjects = _escaped([row[BODY] for row in rows]), _escaped([row[SUBJECT] for row in rows])
    found = []
    for (index, kind, _, _, _, _, moment, actor), body, subject in zip(rows, bodies, subjects, strict=True):
        hashed = begun[actor].copy()
        hashed.update(f'{body}","index":{index}{middle[kind, moment]}{subject}"}}'.encode())
        found.append(hashed.digest())
    return found


def _escaped(texts: Sequence[str]) -> list[str]:
    """What stands between the quotes of each as a JSON string. They are escaped in one go, joined by a character that
    none of them holds: each on its own would take most of the time that there is."""
    joined = SEPARATOR.join(texts)
    plain = joined.encode()
    if len(plain.translate(None, _CONTROL)) < len(plain) or joined.count(SEPARATOR) != len(texts) - 1:
        return [encode_basestring(text)[1:-1] for text in texts]
    return joined.replace("\\", "\\\\").replace('"', '\\"').split(SEPARATOR)


def _moment(text: str) -> str:
    """A moment as the databases write it in UTC, as canonical.py writes it. Errors: ValueError for another zone."""
    date, _, rest = text.partition(" ")
    time, plus, zone = rest.partition("+")
    if plus and zone not in ("00", "00:00"):
        raise ValueError(f"{text} is not in UTC.")
    whole, _, fraction = time.partition(".")
    return f'"{date}T{whole}.{fraction:0<6}Z"'


def _levels(leaves: list[bytes]) -> list[list[bytes]]:
    """levels[k]: roots of the complete subtrees of 2**k leaves, in order."""
    levels = [leaves]
    while len(levels[-1]) > 1:
        below, above = levels[-1], []
        for left, right in zip(below[::2], below[1::2], strict=True):
            hashed = _NODE.copy()
            hashed.update(left + right)
            above.append(hashed.digest())
        levels.append(above)
    return levels


_NODE = hashlib.sha256(b"\x01")  # merkle.node_hash, begun


def _closed(levels: list[list[bytes]]) -> list[str]:
    """What is stored with each entry: the subtrees that it closes, as JSON text."""
    found = ["[]"] * len(levels[0])
    closed = [f'"{root.hex()}"' for root in levels[1]]
    for level in range(1, len(levels)):
        step = 1 << level
        found[step - 1 :: 2 * step] = [f"[{one}]" for one in closed[::2]]
        if level + 1 < len(levels):
            upper = levels[level + 1]
            closed = [f'{one}, "{root.hex()}"' for one, root in zip(closed[1::2], upper, strict=True)]
    return found


def _beyond(expected: str, stored: str) -> str | None:
    """What is stored with the last entry besides the subtrees within the stretch; None where those differ."""
    if not stored.startswith(expected[:-1]):
        return None
    return stored[len(expected) - 1 :].removesuffix("]").removeprefix(", ")


def beyond_text(roots: Sequence[bytes]) -> str:
    """As Stretch.above has it."""
    return ", ".join(f'"{root.hex()}"' for root in roots)


def _peaks_to(levels: list[list[bytes]], length: int) -> tuple[bytes, ...]:
    found, start = [], 0
    for level in range(len(levels) - 1, -1, -1):
        if length >> level & 1:
            found.append(levels[level][start >> level])
            start += 1 << level
    return tuple(found)
