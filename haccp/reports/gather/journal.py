"""Entries of many kinds told in one way: when, what, about which lot or place, in words, by whom.

A source says once which rows it speaks of; the lines of the pages, the sealed entries that are attached and the
number of both follow from that, so that none can be shown without its proof.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from django.db.models import Q, QuerySet

from haccp.reports.gather.scope import PackScope


class Refs(Protocol):
    """What gives an entry the number that the pages call it by."""

    def ref(self, subject: str) -> str: ...


@dataclass(frozen=True, slots=True)
class Told:
    """One row in words. about: a batch, a place or a customer; lot_id: where it is one lot that is spoken of.

    is_bad: what a reader must not overlook.
    """

    at: datetime
    what: str
    about: str
    text: str
    by: str
    lot_id: UUID | None = None
    is_bad: bool = False


@dataclass(frozen=True, slots=True)
class JournalLine:
    """ref: its entry in the ledger, empty where the document shows the entry elsewhere."""

    ref: str
    told: Told


@dataclass(frozen=True, slots=True)
class Source:
    """rows: of a scope, or of some lots, with what `tell` reads joined or prefetched. prefix: of their subjects."""

    prefix: str
    rows: Callable[[Any], QuerySet[Any]]
    tell: Callable[[Any, PackScope], Told]


def journal_lines(sources: Iterable[Source], scope: PackScope, evidence: Refs) -> list[JournalLine]:
    """Oldest first, in a constant number of queries."""
    lines = [
        JournalLine(evidence.ref(f"{source.prefix}:{row.pk}"), source.tell(row, scope))
        for source in sources
        for row in source.rows(scope)
    ]
    return sorted(lines, key=lambda line: (line.told.at, line.told.what, line.told.about, line.ref))


def journal_subjects(sources: Iterable[Source], of: Any) -> Iterator[str]:
    """of: what the sources take, a scope or ids of lots."""
    for source in sources:
        bare = source.rows(of).order_by().prefetch_related(None)
        yield from (f"{source.prefix}:{pk}" for pk in bare.values_list("pk", flat=True))


def journal_count(sources: Iterable[Source], scope: PackScope) -> int:
    return sum(source.rows(scope).order_by().count() for source in sources)


def in_period(
    scope: PackScope, rows: QuerySet[Any], moment: str, lot: str = "", lots: Sequence[UUID] = ()
) -> QuerySet[Any]:
    """Rows of the period; of chosen lots whenever they were; of another part of the records none.

    lot: the lookup that leads to a lot, empty where rows are about none. lots: these in place of the batches.
    """
    period, choice = scope.period, scope.choice
    if choice.is_whole:
        return rows.filter(Q(**{f"{moment}__gte": period.start, f"{moment}__lt": period.end}))
    if not choice.of_lots or not lot:
        return rows.none()
    return rows.filter(**{f"{lot}__in": lots or scope.batch_ids})


def on_days(scope: PackScope, rows: QuerySet[Any], day: str) -> QuerySet[Any]:
    """Rows whose local day lies in the period of the whole dairy."""
    if not scope.choice.is_whole:
        return rows.none()
    return rows.filter(**{f"{day}__gte": scope.period.first_day, f"{day}__lte": scope.period.last_day})
