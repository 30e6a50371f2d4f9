"""What a pack shows, by id: read once at the start, so that every section speaks of the same records.

In scope is every record observed in the period, and with it all that it amends or that amends it, whenever those
were observed: an original is never shown without its change.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from haccp.checks.models import DaySignature, MissedCheck, Record
from haccp.deviations.models import Deviation
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.reports.gather.period import Period

CLEANING = "cleaning"
IDS_PER_QUERY = 500


@dataclass(frozen=True, slots=True)
class PointScope:
    """Records of one control point (by its code, over all revisions), oldest first, each with its amendments."""

    code: str
    name: str
    is_critical: bool
    programme: str
    chains: tuple[tuple[UUID, ...], ...]

    @property
    def record_ids(self) -> tuple[UUID, ...]:
        return tuple(one for chain in self.chains for one in chain)

    @property
    def title(self) -> str:
        return f"{self.code} {self.name}"


@dataclass(frozen=True, slots=True)
class PackScope:
    period: Period
    points: tuple[PointScope, ...]
    missed_ids: tuple[UUID, ...]
    deviation_ids: tuple[UUID, ...]
    day_signature_ids: tuple[UUID, ...]
    revision_ids: tuple[UUID, ...]

    @property
    def critical(self) -> tuple[PointScope, ...]:
        return tuple(point for point in self.points if point.is_critical)

    @property
    def cleaning(self) -> tuple[PointScope, ...]:
        return tuple(p for p in self.points if not p.is_critical and p.programme.casefold() == CLEANING)

    @property
    def other_prerequisites(self) -> tuple[PointScope, ...]:
        return tuple(p for p in self.points if not p.is_critical and p.programme.casefold() != CLEANING)

    @property
    def record_ids(self) -> tuple[UUID, ...]:
        return tuple(one for point in self.points for one in point.record_ids)

    @property
    def current_ids(self) -> tuple[UUID, ...]:
        """The last word of each chain."""
        return tuple(chain[-1] for point in self.points for chain in point.chains)


def in_groups(ids: Sequence[UUID], size: int = IDS_PER_QUERY) -> Iterable[Sequence[UUID]]:
    return (ids[first : first + size] for first in range(0, len(ids), size))


def scope_of(period: Period) -> PackScope:
    """In a constant number of queries, and one or two more for each step that an amendment leads out of the period."""
    revision_ids = revisions_in_force(period)
    return PackScope(
        period=period,
        points=tuple(_points(period, revision_ids)),
        missed_ids=tuple(
            MissedCheck.objects.filter(
                due__premises=period.premises_id, due__due_at__gte=period.start, due__due_at__lt=period.end
            )
            .order_by("due__due_at", "id")
            .values_list("id", flat=True)
        ),
        deviation_ids=tuple(
            Deviation.objects.filter(premises=period.premises_id, occurred_at__lt=period.end)
            .filter(
                Q(occurred_at__gte=period.start) | Q(closure__isnull=True) | Q(closure__closed_at__gte=period.start)
            )
            .order_by("year", "number")
            .values_list("id", flat=True)
        ),
        day_signature_ids=tuple(
            DaySignature.objects.filter(
                premises=period.premises_id, day__gte=period.first_day, day__lte=period.last_day
            )
            .order_by("day", "signature__signed_at", "id")
            .values_list("id", flat=True)
        ),
        revision_ids=revision_ids,
    )


def revisions_in_force(period: Period) -> tuple[UUID, ...]:
    """Revisions that were in force at some time of the period, the latest first."""
    approved = (
        PlanRevision.objects.filter(premises=period.premises_id, effective_from__lt=period.end)
        .approved()
        .order_by("-effective_from", "-number")
        .values_list("id", "effective_from")
    )
    found: list[UUID] = []
    for revision_id, effective_from in approved:
        found.append(revision_id)
        if effective_from is not None and effective_from <= period.start:
            break
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Stub:
    id: UUID
    amends: UUID | None
    point: UUID
    observed_at: datetime


def _points(period: Period, revision_ids: Sequence[UUID]) -> Iterable[PointScope]:
    stubs = _stubs(period)
    change_of = {stub.amends: stub for stub in stubs.values() if stub.amends is not None}
    points = {
        point.id: point
        for point in ControlPoint.objects.filter(revision__premises=period.premises_id).order_by("revision__number")
    }
    newest = {point.code: point for point in points.values()}
    chains: dict[str, list[tuple[UUID, ...]]] = defaultdict(list)
    for root in sorted((s for s in stubs.values() if s.amends is None), key=lambda s: (s.observed_at, s.id)):
        chain, last = [root.id], root
        while (change := change_of.get(last.id)) is not None:
            chain.append(change.id)
            last = change
        chains[points[root.point].code].append(tuple(chain))
    planned = {point.code for point in points.values() if point.revision_id in revision_ids}
    for code in sorted(planned | set(chains), key=lambda code: (not newest[code].is_critical, natural_order(code))):
        point = newest[code]
        yield PointScope(code, point.name, point.is_critical, point.programme, tuple(chains[code]))


def _stubs(period: Period) -> dict[UUID, _Stub]:
    records = Record.objects.filter(premises=period.premises_id)
    inside = Q(observed_at__gte=period.start, observed_at__lt=period.end)
    related = Q(amends__observed_at__gte=period.start, amends__observed_at__lt=period.end)
    found = _read(records.filter(inside | related))
    while True:
        originals = {s.amends for s in found.values() if s.amends is not None} - found.keys()
        outside = [stub.id for stub in found.values() if not period.holds(stub.observed_at)]
        more: dict[UUID, _Stub] = {}
        for group in in_groups([*originals]):
            more |= _read(records.filter(id__in=group))
        for group in in_groups(outside):
            more |= _read(records.filter(amends__in=group))
        if more.keys() <= found.keys():
            return found
        found |= more


def _read(records: QuerySet[Record]) -> dict[UUID, _Stub]:
    values = records.order_by().values_list("id", "amends", "check_done__control_point", "observed_at")
    return {row[0]: _Stub(*row) for row in values}


def natural_order(code: str) -> list[tuple[int, int | str]]:
    """PRP 10 after PRP 9."""
    return [(0, int(part)) if part.isdigit() else (1, part.casefold()) for part in re.split(r"(\d+)", code) if part]
