"""What a pack shows, by id: read once at the start, so that every section speaks of the same records.

In scope is every record observed in the period that the choice leaves, and with it all that it amends or that amends
it, whenever those were observed: an original is never shown without its change.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from haccp.checks.models import DaySignature, DueCheck, MissedCheck, Record
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.reports.gather.choice import Choice, Chosen, chosen
from haccp.reports.gather.period import Period

CLEANING, TRAINING = "cleaning", "training"
WENT_IN = (Lot.Kind.MILK, Lot.Kind.INGREDIENT, Lot.Kind.BRINE)
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
    """batch_ids: oldest first. milk_ids: of the milk, ingredients and brines that went into these batches,
    and those that the period began.
    days: those that the records shown were observed on, None for every day of the period.
    """

    period: Period
    choice: Choice
    points: tuple[PointScope, ...]
    missed_ids: tuple[UUID, ...]
    deviation_ids: tuple[UUID, ...]
    day_signature_ids: tuple[UUID, ...]
    days: frozenset[date] | None
    revision_ids: tuple[UUID, ...]
    batch_ids: tuple[UUID, ...]
    milk_ids: tuple[UUID, ...]
    still_due: int

    @property
    def critical(self) -> tuple[PointScope, ...]:
        return tuple(point for point in self.points if point.is_critical)

    @property
    def cleaning(self) -> tuple[PointScope, ...]:
        return tuple(p for p in self.points if not p.is_critical and p.programme.casefold() == CLEANING)

    @property
    def other_prerequisites(self) -> tuple[PointScope, ...]:
        others = (CLEANING, TRAINING)
        return tuple(p for p in self.points if not p.is_critical and p.programme.casefold() not in others)

    @property
    def training(self) -> tuple[PointScope, ...]:
        return tuple(p for p in self.points if not p.is_critical and p.programme.casefold() == TRAINING)

    @property
    def record_ids(self) -> tuple[UUID, ...]:
        return tuple(one for point in self.points for one in point.record_ids)

    @property
    def current_ids(self) -> tuple[UUID, ...]:
        """The last word of each chain."""
        return tuple(chain[-1] for point in self.points for chain in point.chains)


def in_groups(ids: Sequence[UUID], size: int = IDS_PER_QUERY) -> Iterable[Sequence[UUID]]:
    return (ids[first : first + size] for first in range(0, len(ids), size))


def scope_of(period: Period, choice: Choice | None = None) -> PackScope:
    """In a constant number of queries, and one or two more for each step that an amendment leads out of the period."""
    picked = chosen(choice or Choice())
    revision_ids = revisions_in_force(period)
    points = tuple(_points(period, picked, revision_ids))
    due_then = Q(due__premises=period.premises_id, due__due_at__gte=period.start, due__due_at__lt=period.end)
    missed = MissedCheck.objects.filter(due_then, picked.due("due__")).order_by("due__due_at", "id")
    batch_ids = _batches(period, picked, points)
    days = None if picked.choice.is_whole else _days(period, points)
    return PackScope(
        period=period,
        choice=picked.choice,
        points=points,
        missed_ids=tuple(missed.values_list("id", flat=True)),
        deviation_ids=_deviations(period, picked),
        day_signature_ids=_day_signatures(period, days),
        days=days,
        revision_ids=revision_ids,
        batch_ids=batch_ids,
        milk_ids=_milk(period, picked, batch_ids),
        still_due=DueCheck.objects.filter(
            picked.due(),
            premises=period.premises_id,
            due_at__gte=period.start,
            due_at__lt=min(period.end, period.asked_at),
            settled_at__isnull=True,
        ).count(),
    )


def _days(period: Period, points: Sequence[PointScope]) -> frozenset[date]:
    """Local days on which something was observed that a part of the records shows."""
    found: set[date] = set()
    for group in in_groups([one for point in points for one in point.record_ids]):
        moments = Record.objects.filter(id__in=group).values_list("observed_at", flat=True)
        found |= {at.astimezone(period.zone).date() for at in moments}
    return frozenset(found)


def _day_signatures(period: Period, days: frozenset[date] | None) -> tuple[UUID, ...]:
    signed = DaySignature.objects.filter(
        premises=period.premises_id, day__gte=period.first_day, day__lte=period.last_day
    )
    found = signed.order_by("day", "signature__signed_at", "id").values_list("id", "day")
    return tuple(one for one, day in found if days is None or day in days)


def _deviations(period: Period, picked: Chosen) -> tuple[UUID, ...]:
    """Open at some time of the period; for chosen lots and a chosen deviation whenever they were open."""
    found = Deviation.objects.filter(picked.deviations(), premises=period.premises_id)
    if not picked.choice.sets_period:
        found = found.filter(occurred_at__lt=period.end).filter(
            Q(occurred_at__gte=period.start) | Q(closure__isnull=True) | Q(closure__closed_at__gte=period.start)
        )
    return tuple(found.order_by("year", "number").values_list("id", flat=True))


def _batches(period: Period, picked: Chosen, points: Sequence[PointScope]) -> tuple[UUID, ...]:
    """Those chosen; else those begun in the period, and those that a record shown is about."""
    lots = Lot.objects.filter(premises=period.premises_id).batches()
    if picked.choice.sets_period:
        found = dict(lots.filter(id__in=picked.own).values_list("id", "begun_at"))
    else:
        found = {}
        for group in in_groups([one for point in points for one in point.record_ids]):
            found |= dict(lots.filter(records__in=group).distinct().values_list("id", "begun_at"))
        if picked.choice.is_whole or picked.choice.products:
            begun = lots.begun_between(period.start, period.end)
            found |= dict(begun.values_list("id", "begun_at"))
        if picked.choice.products:
            found = {one: at for one, at in found.items() if one in picked.own}
    return tuple(sorted(found, key=lambda one: (found[one], one)))


def _milk(period: Period, picked: Chosen, batch_ids: Sequence[UUID]) -> tuple[UUID, ...]:
    lots = Lot.objects.filter(premises=period.premises_id, kind__in=WENT_IN)
    found: dict[UUID, datetime] = {}
    for group in in_groups(batch_ids):
        found |= dict(lots.filter(links_out__child__in=group).distinct().values_list("id", "begun_at"))
    if picked.choice.is_whole:
        found |= dict(lots.begun_between(period.start, period.end).values_list("id", "begun_at"))
    return tuple(sorted(found, key=lambda one: (found[one], one)))


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


def _points(period: Period, picked: Chosen, revision_ids: Sequence[UUID]) -> Iterable[PointScope]:
    stubs = _stubs(period, picked)
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
    if not picked.choice.is_whole:
        planned &= {picked.point}
    for code in sorted(planned | set(chains), key=lambda code: (not newest[code].is_critical, natural_order(code))):
        point = newest[code]
        yield PointScope(code, point.name, point.is_critical, point.programme, tuple(chains[code]))


def _stubs(period: Period, picked: Chosen) -> dict[UUID, _Stub]:
    records = Record.objects.filter(premises=period.premises_id)
    inside = Q(observed_at__gte=period.start, observed_at__lt=period.end) & picked.records()
    found = _read(records.filter(inside))
    if picked.choice.is_whole:
        found |= _read(records.filter(amends__observed_at__gte=period.start, amends__observed_at__lt=period.end))
    while True:
        originals = {s.amends for s in found.values() if s.amends is not None} - found.keys()
        outside = [s.id for s in found.values() if not (picked.choice.is_whole and period.holds(s.observed_at))]
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
