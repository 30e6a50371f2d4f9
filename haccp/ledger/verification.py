"""Checks a log from its first entry to its last, and names the first thing that does not fit.

Entries are streamed in chunks, so that a log of any length is checked in bounded memory.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TypeVar

from django.db.models import Count

from haccp.ledger import canonical, leaf, personal, sealed_kinds, signed_heads, stretches
from haccp.ledger.canonical import JsonValue
from haccp.ledger.head import Fingerprint, Head
from haccp.ledger.merkle import Frontier
from haccp.ledger.models import Entry, Log, PersonalText, SignedHead
from haccp.ledger.sealed_kinds import SealedKind

CHUNK = 500

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Report:
    """head: what was checked; entries, rows: how many were; problem: the first that does not fit, or empty."""

    log_key: str
    head: Head
    entries: int
    rows: int
    problem: str = ""

    @property
    def holds(self) -> bool:
        return not self.problem


class _MisfitError(Exception):
    """The first thing that does not fit, in one sentence."""


def verify_log(
    log: Log,
    *,
    rows: bool = True,
    fingerprints: Iterable[Fingerprint] = (),
    kinds: Mapping[str, SealedKind] | None = None,
    processes: int = 1,
) -> Report:
    """Check a log against itself, against its rows, and against fingerprints printed in the past.

    1. Indices run from 0 without a hole; every entry hashes to its leaf, every leaf to the stored subtrees.
    2. The stored size and peaks are those of the entries, and no entry stands beyond the size.
    3. The log had the given fingerprints when it had their sizes: this alone finds a log rewritten from end to end
       by somebody who could also write its hashes.
    4. Signed heads are the log's own, and their signatures hold. Each name behind an entry hashes to its commitment,
       or its erasure is sealed.
    5. With rows: each row of a registered kind says what its one entry says, and no row is without its entry.

    kinds: those registered (sealed_kinds), unless given. processes: how many hash side by side; more than one only
    outside a transaction, and from a process with one thread. Entries added while it runs are not looked at.
    """
    log.refresh_from_db()
    checked = sealed_kinds.registered() if kinds is None else kinds
    run = _Run(log, checked if rows else {}, processes)
    problem = ""
    try:
        run.check_heads()
        run.check_entries(list(fingerprints))
        if rows:
            run.check_rows()
            run.check_entries_are_single()
            run.check_rows_are_sealed()
    except _MisfitError as misfit:
        problem = str(misfit)
    return Report(log.key, Head(run.frontier.size, run.frontier.root().hex()), run.frontier.size, run.rows, problem)


class _Run:
    """One pass over one log; counts what it has checked."""

    def __init__(self, log: Log, kinds: Mapping[str, SealedKind], processes: int) -> None:
        self.log = log
        self.kinds = kinds
        self.processes = processes
        self.frontier = Frontier()
        self.rows = 0
        self.signed: dict[int, SignedHead] = {}
        self.names = {personal.SCHEME + one.commitment for one in PersonalText.objects.filter(log=log)}

    def check_heads(self) -> None:
        for head in SignedHead.objects.filter(log=self.log).order_by("size"):
            if head.size > self.log.size:
                raise _MisfitError(
                    f"The log {self.log.key} has {self.log.size} entries, but a head was signed when it had"
                    f" {head.size}: entries were taken from its end."
                )
            if not signed_heads.holds(head, log_key=self.log.key):
                raise _MisfitError(
                    f"The signed head of the log {self.log.key} at {head.size} entries was changed: its signature does"
                    " not hold."
                )
            self.signed[head.size] = head
        for name in PersonalText.objects.filter(log=self.log).iterator():
            fault = personal.fault_of(name)
            if fault:
                raise _MisfitError(f"The name behind {name.commitment} in the log {self.log.key} {fault}.")

    def _check_signed(self) -> None:
        head = self.signed.get(self.frontier.size)
        if head is not None and head.root_hex != self.frontier.root().hex():
            raise _MisfitError(
                f"The first {head.size} entries of the log {self.log.key} are not those that it had when its head was"
                " signed: the log was rewritten."
            )

    def check_entries(self, fingerprints: Sequence[Fingerprint]) -> None:
        by_size: dict[int, list[Fingerprint]] = {}
        for printed in fingerprints:
            if printed.size > self.log.size:
                raise _MisfitError(
                    f"The log {self.log.key} has {self.log.size} entries, but a fingerprint was printed when it had"
                    f" {printed.size}: entries were taken from its end, or the fingerprint is of another log."
                )
            by_size.setdefault(printed.size, []).append(printed)
        self._compare(by_size)
        self._check_stretches(by_size)
        for entry in self._entries(self.frontier.size, self.log.size):
            self._walk(entry, by_size)
        self._check_end()

    def _check_stretches(self, by_size: dict[int, list[Fingerprint]]) -> None:
        """Whole stretches at once; one that does not fit is walked through, which names what is wrong in it."""
        sizes = sorted(self.signed.keys() | by_size.keys())
        for task, found in stretches.check_runs(self._runs(sizes), self.processes):
            for place, stretch in enumerate(found):
                first = task.first + place * stretches.LENGTH
                if stretch is not None and self._took(stretch, by_size):
                    continue
                for entry in self._entries(first, first + stretches.LENGTH):
                    self._walk(entry, by_size)
                if self.frontier.size != first + stretches.LENGTH:
                    return  # there is no such entry any more, which is said at the end

    def _runs(self, sizes: Sequence[int]) -> Iterator[stretches.Task]:
        whole = self.log.size - self.log.size % stretches.LENGTH
        names = frozenset(self.names)
        for first in range(0, whole, stretches.RUN):
            stop = min(first + stretches.RUN, whole)
            within = tuple(sizes[bisect_right(sizes, first) : bisect_left(sizes, stop)])
            yield stretches.Task(self.log.pk, self.log.key, first, stop, names, within)

    def _took(self, stretch: stretches.Stretch, by_size: dict[int, list[Fingerprint]]) -> bool:
        """Whether the stretch joins what came before it; heads within it and at its end are compared."""
        before = self.frontier
        appended = before.append_complete(stretch.root, level=stretches.LEVEL)
        if stretches.beyond_text(appended.closed) != stretch.above:
            return False
        for size, peaks in stretch.within.items():
            self.frontier = Frontier(size, (*before.peaks, *peaks))
            self._compare(by_size)
            self._check_signed()
        self.frontier = appended.frontier
        self._compare(by_size)
        self._check_signed()
        return True

    def _entries(self, first: int, stop: int) -> Iterator[Entry]:
        found = Entry.objects.filter(log=self.log, index__gte=first, index__lt=stop).order_by("index")
        return found.iterator(chunk_size=CHUNK)

    def _walk(self, entry: Entry, by_size: dict[int, list[Fingerprint]]) -> None:
        self._check_entry(entry)
        self._compare(by_size)
        self._check_signed()

    def _check_entry(self, entry: Entry) -> None:
        expected = self.frontier.size
        if entry.index != expected:
            raise _MisfitError(f"Entry {expected} of the log {self.log.key} is missing: entry {entry.index} follows.")
        hashed = _hash(self.log, entry)
        if hashed.hex() != entry.leaf_hash:
            raise _MisfitError(
                f"Entry {entry.index} of the log {self.log.key} ({entry.kind}, {entry.subject}) was changed after"
                " it was sealed: it does not hash to its leaf."
            )
        if personal.is_reference(entry.actor) and entry.actor not in self.names:
            raise _MisfitError(
                f"The name of who sealed entry {entry.index} of the log {self.log.key} is gone, and its erasure was"
                " not sealed."
            )
        appended = self.frontier.append(hashed)
        if [root.hex() for root in appended.closed] != entry.subtrees:
            raise _MisfitError(
                f"Entry {entry.index} of the log {self.log.key} ({entry.kind}, {entry.subject}), or one before"
                " it, was changed after it was sealed: together they do not hash to the subtrees stored with it."
            )
        self.frontier = appended.frontier

    def _check_end(self) -> None:
        log, reached = self.log, self.frontier.size
        if reached != log.size:
            raise _MisfitError(f"Entry {reached} of the log {log.key} is missing: the log counts {log.size} entries.")
        if [peak.hex() for peak in self.frontier.peaks] != log.peaks:
            raise _MisfitError(
                f"The {log.size} entries of the log {log.key} do not hash to the root that the log keeps"
                f" ({self._first_wrong_peak()})."
            )
        # In this order: entries may be added meanwhile, and the log's size is moved on with them.
        last = Entry.objects.filter(log=log).order_by("-index").values_list("index", flat=True).first()
        size = Log.objects.values_list("size", flat=True).get(pk=log.pk)
        if last is not None and last >= size:
            raise _MisfitError(f"Entry {last} of the log {log.key} was never sealed: the log counts {size} entries.")

    def _first_wrong_peak(self) -> str:
        start, peaks = 0, list(self.log.peaks or ())
        for level in range(self.log.size.bit_length() - 1, -1, -1):
            width = 1 << level
            if not self.log.size & width:
                continue
            place = (self.log.size >> (level + 1)).bit_count()
            if place >= len(peaks) or self.frontier.peaks[place].hex() != peaks[place]:
                return f"first wrong: entries {start} to {start + width - 1}"
            start += width
        return "more peaks than the size allows"

    def _compare(self, fingerprints: dict[int, list[Fingerprint]]) -> None:
        head = Head(self.frontier.size, self.frontier.root().hex()) if self.frontier.size in fingerprints else None
        for printed in fingerprints.get(self.frontier.size, ()):
            if head is not None and not printed.fits(head):
                raise _MisfitError(
                    f"The first {printed.size} entries of the log {self.log.key} are not those that it had when the"
                    " given fingerprint was printed: the log was rewritten, or the fingerprint is of another log."
                )

    def check_rows(self) -> None:
        """A second pass: what each entry sealed against what its row says today."""
        sealed = Entry.objects.filter(log=self.log, index__lt=self.log.size, kind__in=list(self.kinds))
        sealed = sealed.only("index", "kind", "subject", "body").order_by("index")
        for chunk in _chunks(sealed.iterator(chunk_size=CHUNK)):
            self._check_rows(chunk)

    def _check_rows(self, entries: Sequence[Entry]) -> None:
        by_kind: dict[str, list[Entry]] = {}
        for entry in entries:
            by_kind.setdefault(entry.kind, []).append(entry)
        for kind, sealed in by_kind.items():
            bodies = self.kinds[kind].fetch_bodies([entry.subject for entry in sealed])
            for entry in sealed:
                self._check_row(entry, bodies.get(entry.subject))
                self.rows += 1

    def _check_row(self, entry: Entry, body: Mapping[str, object] | None) -> None:
        if body is None:
            raise _MisfitError(
                f"The row of {entry.subject} is gone: entry {entry.index} of the log {self.log.key} sealed it as"
                f" {entry.kind}."
            )
        try:
            row = canonical.text(body)
            difference = (
                "" if row == entry.body else _first_difference(canonical.loads(entry.body), canonical.loads(row))
            )
        except ValueError as error:
            raise _MisfitError(f"The row of {entry.subject} was changed after it was sealed: {error}") from error
        if difference:
            raise _MisfitError(
                f"The row of {entry.subject} was changed after entry {entry.index} of the log {self.log.key}"
                f" sealed it: {difference}."
            )

    def check_entries_are_single(self) -> None:
        """A second entry for one row would let an old and a new state both pass."""
        twice = (
            Entry.objects.filter(log=self.log, kind__in=list(self.kinds))
            .values("kind", "subject")
            .annotate(times=Count("id"))
            .filter(times__gt=1)
            .order_by("kind", "subject")
            .first()
        )
        if twice is not None:
            raise _MisfitError(
                f"The row of {twice['subject']} has {twice['times']} entries as {twice['kind']} in the log"
                f" {self.log.key}, where one is due."
            )

    def check_rows_are_sealed(self) -> None:
        """No row without its entry; and no entry whose row says now that it belongs to another log."""
        sealed_times = dict(
            Entry.objects.filter(log=self.log, index__lt=self.log.size, kind__in=list(self.kinds))
            .values_list("kind")
            .annotate(times=Count("id"))
            .order_by("kind")
        )
        for kind in self.kinds.values():
            if kind.all_subjects is None:
                continue
            found = 0
            for chunk in _chunks(iter(kind.all_subjects(self.log.key))):
                sealed = set(
                    Entry.objects.filter(log=self.log, kind=kind.kind, subject__in=chunk).values_list(
                        "subject", flat=True
                    )
                )
                for subject in chunk:
                    if subject not in sealed:
                        raise _MisfitError(
                            f"The row of {subject} was never sealed: the log {self.log.key} has no entry of"
                            f" the kind {kind.kind} for it."
                        )
                found += len(chunk)
            if found < sealed_times.get(kind.kind, 0):
                self._name_moved(kind)

    def _name_moved(self, kind: SealedKind) -> None:
        assert kind.all_subjects is not None
        here = set(kind.all_subjects(self.log.key))
        entries = Entry.objects.filter(log=self.log, index__lt=self.log.size, kind=kind.kind).order_by("index")
        for index, subject in entries.values_list("index", "subject").iterator(chunk_size=CHUNK):
            if subject not in here:
                raise _MisfitError(
                    f"The row of {subject} was moved away: entry {index} of the log {self.log.key} sealed it as"
                    f" {kind.kind}, and now it belongs to another log."
                )


def _hash(log: Log, entry: Entry) -> bytes:
    return leaf.leaf_hash(
        log_key=log.key,
        index=entry.index,
        kind=entry.kind,
        subject=entry.subject,
        body=entry.body,
        recorded_at=entry.recorded_at,
        actor=entry.actor,
    )


def _chunks(items: Iterator[T]) -> Iterator[list[T]]:
    while chunk := list(islice(items, CHUNK)):
        yield chunk


def _first_difference(sealed: JsonValue, row: JsonValue, place: str = "") -> str:
    """Where two documents first differ, in words."""
    if isinstance(sealed, dict) and isinstance(row, dict):
        for key in sorted(sealed.keys() | row.keys()):
            name = f"{place}.{key}" if place else key
            if key not in row:
                return f"{name} is no longer there"
            if key not in sealed:
                return f"{name} was not there"
            if sealed[key] != row[key]:
                return _first_difference(sealed[key], row[key], name)
    if isinstance(sealed, list) and isinstance(row, list) and len(sealed) == len(row):
        for number, (old, new) in enumerate(zip(sealed, row, strict=True)):
            if old != new:
                return _first_difference(old, new, f"{place}[{number}]")
    return f"{place or 'it'} was {_short(sealed)} and is {_short(row)}"


def _short(value: JsonValue) -> str:
    written = canonical.text(value)
    return written if len(written) <= 80 else f"{written[:77]}…"
