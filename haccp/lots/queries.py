"""Reads about lots: where they were, what they went into, what holds them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, Subquery, UUIDField

from haccp.lots import closure
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot, LotEvent, LotOrigin, LotQuerySet, RevisionMove
from haccp.lots.presence import lots_with_parts_in
from haccp.lots.stays import ENTERS, MOVES, InPlace, in_places, moves_of
from haccp.plan.consequences import InProgress
from haccp.plan.differences import Difference, concerning, differences
from haccp.plan.models import PlanRevision
from haccp.plan.rows import read_plan
from haccp.premises.models import Place, Premises


def lots_of(premises: Premises) -> LotQuerySet:
    return Lot.objects.for_premises(premises).with_hold().select_related("product", "revision")


def first_events(lot: Lot, *, as_of: datetime | None = None) -> dict[str, datetime]:
    """Kind of event -> the first time it happened, by what had been recorded at a moment (None: by now)."""
    first: dict[str, datetime] = {}
    events = LotEvent.objects.filter(lot=lot)
    if as_of is not None:
        later = LotEvent.every.filter(corrects=OuterRef("pk"), recorded_at__lte=as_of)
        events = LotEvent.every.filter(lot=lot, recorded_at__lte=as_of, withdrawn=False).exclude(Exists(later))
    for event in events.order_by("occurred_at"):
        first.setdefault(event.kind, event.occurred_at)
    return first


# What a person here is told of a hold at another premises: its reason is that premises' own.
HELD_ELSEWHERE = "on hold at another premises of the producer, where it came from"


def held_elsewhere(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Those of these lots that came from a lot at another premises which is on hold there. One query."""
    standing = Hold.objects.standing().filter(lot__sent_on__lot__in=list(lot_ids))
    return set(standing.values_list("lot__sent_on__lot", flat=True)) & set(lot_ids)


def made_as(lots: Iterable[Lot]) -> dict[UUID, Lot]:
    """Lot -> the lot as which it was made, at whichever premises of the producer that was; itself where it never moved.
    One query."""
    by_id = {lot.pk: lot for lot in lots}
    origins = LotOrigin.objects.filter(lot__in=by_id).order_by("steps").select_related("origin__product")
    return by_id | {row.lot_id: row.origin for row in origins}


def standing_holds(lot: Lot) -> list[Hold]:
    return list(Hold.objects.standing().filter(lot=lot).order_by("placed_at"))


def holds_of(lot: Lot) -> list[Hold]:
    """Standing and lifted, in the order in which they were placed."""
    return list(Hold.objects.filter(lot=lot).select_related("lift", "lift__lifted_by").order_by("placed_at"))


def held_count(premises: Premises) -> int:
    """How many lots of the premises may not leave."""
    here = Hold.objects.standing().filter(lot__premises=premises).values_list("lot", flat=True)
    there = Hold.objects.standing().filter(lot__sent_on__lot__premises=premises)
    return len({*here, *there.values_list("lot__sent_on__lot", flat=True)})


def in_place_between(place: Place, start: datetime | None, end: datetime) -> list[Lot]:
    """Lots that were in a place at any time in (start, end]; start None means since ever.

    A lot is in a place from the event that brought it there until its next event that names another place, or
    until it left. A lot is there as well while a part of it is (presence.register).
    """
    entered = LotEvent.objects.filter(place=place, kind__in=ENTERS, occurred_at__lte=end)
    in_part = lots_with_parts_in(place, start, end)
    lots = Lot.objects.filter(Q(pk__in=entered.values("lot")) | Q(pk__in=in_part))
    moves = moves_of(lot.pk for lot in lots)
    return [lot for lot in lots if lot.id in in_part or _was_inside(in_places(moves[lot.id]), place, start, end)]


def brines_in(place: Place, start: datetime | None, end: datetime) -> list[Lot]:
    """Brines that stood in a tank at any time in (start, end]: each from when it was made up until the next was."""
    made = list(
        LotEvent.objects.filter(
            place=place, kind=EventKind.EQUIPMENT_USED, lot__kind=Lot.Kind.BRINE, occurred_at__lte=end
        )
        .select_related("lot")
        .order_by("occurred_at", "recorded_at")
    )
    if not made:
        return []
    until = [*(event.occurred_at for event in made[1:]), None]
    return [
        event.lot
        for event, next_at in zip(made, until, strict=True)
        if start is None or next_at is None or next_at > start
    ]


@dataclass(frozen=True, slots=True)
class Lodger:
    """A batch in a place. since: when it came in; on_hold: whether a hold on it stands."""

    lot: Lot
    place_id: UUID
    since: datetime
    on_hold: bool


def batches_in_places(premises: Premises, places: Iterable[Place]) -> list[Lodger]:
    """Batches that are in one of the places now, oldest first."""
    moves = LotEvent.objects.filter(lot=OuterRef("pk"), kind__in=MOVES).order_by("-occurred_at", "-recorded_at")
    inside = (
        Lot.objects.for_premises(premises)
        .batches()
        .annotate(
            last_move=Subquery(moves.values("kind")[:1]),
            place_now=Subquery(moves.values("place")[:1], output_field=UUIDField()),
            since=Subquery(moves.values("occurred_at")[:1]),
            on_hold=Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))),
        )
        .exclude(last_move=EventKind.LEFT_ROOM)
        .filter(place_now__in=[place.pk for place in places])
        .order_by("begun_at", "code")
        .values_list("pk", "place_now", "since", "on_hold")
    )
    rows = list(inside)
    lots = Lot.objects.select_related("product").in_bulk([row[0] for row in rows])
    return [Lodger(lots[lot_id], place_id, since, on_hold) for lot_id, place_id, since, on_hold in rows]


def _was_inside(stays: list[InPlace], place: Place, start: datetime | None, end: datetime) -> bool:
    return any(
        stay.place.pk == place.pk and stay.start <= end and (start is None or stay.end is None or stay.end > start)
        for stay in stays
    )


def descendants_of(lot_ids: Iterable[UUID]) -> dict[UUID, UUID]:
    """Every lot made from these, directly or not -> a lot that it was made from, one of these or of those."""
    seeds = set(lot_ids)
    reached = closure.descendants(seeds)
    found: dict[UUID, UUID] = {}
    for parent, child, _amount, _unit in closure.links_from(seeds | reached):
        if child in reached and child not in seeds:
            found.setdefault(child, parent)
    return found


def ancestors_of(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Every lot that went into these, directly or not."""
    return closure.ancestors(lot_ids)


def revision_ids_of(lots: Iterable[Lot]) -> dict[UUID, UUID]:
    """Lot -> the revision that it stands under now: the one it began with, unless it was moved. One query."""
    found = {lot.pk: lot.revision_id for lot in lots}
    moves = RevisionMove.objects.filter(lot__in=found).order_by("moved_at")
    return found | dict(moves.values_list("lot_id", "to_revision_id"))


def revisions_over(lot: Lot, end: datetime) -> list[tuple[PlanRevision, datetime, datetime]]:
    """The revisions that a lot stood under, each from when until when, up to end. One query."""
    moves = list(lot.revision_moves.order_by("moved_at").select_related("to_revision"))
    revisions = [lot.revision, *(move.to_revision for move in moves)]
    starts = [lot.begun_at, *(move.moved_at for move in moves)]
    stretches = zip(revisions, starts, [*starts[1:], end], strict=True)
    return [(revision, start, stop) for revision, start, stop in stretches if start < stop]


def batches_in_progress(premises: Premises) -> list[Lot]:
    """Batches that have not left their last place: still made, or in a room. Newest first."""
    latest = LotEvent.objects.filter(lot=OuterRef("pk"), kind__in=MOVES)
    last_kind = Subquery(latest.order_by("-occurred_at", "-recorded_at").values("kind")[:1])
    batches = Lot.objects.for_premises(premises).batches().annotate(last_kind=last_kind)
    in_progress = batches.exclude(last_kind=EventKind.LEFT_ROOM) | batches.filter(last_kind__isnull=True)
    return list(in_progress.select_related("product", "revision"))


@dataclass(frozen=True, slots=True)
class BatchTouched:
    """A batch in progress, the revision it stands under, and what would change for it under the new one."""

    lot: Lot
    stands_under: PlanRevision
    changes: tuple[Difference, ...]


def batches_touched(revision: PlanRevision) -> list[BatchTouched]:
    """What a revision would change for each batch in progress. They stay under theirs unless they are moved.

    Reads each revision that a batch stands under once.
    """
    lots = batches_in_progress(revision.premises)
    under = revision_ids_of(lots)
    revisions = PlanRevision.objects.in_bulk(set(under.values()))
    new = read_plan(revision)
    found = {pk: differences(read_plan(old), new) for pk, old in revisions.items() if pk != revision.pk}
    return [
        BatchTouched(
            lot,
            revisions[under[lot.pk]],
            tuple(concerning(found[under[lot.pk]], lot.product.code if lot.product else "")),
        )
        for lot in lots
        if under[lot.pk] != revision.pk
    ]


def batches_before_approval(revision: PlanRevision) -> list[InProgress]:
    """batches_touched, as an approval shows them; registered in haccp.plan.consequences."""
    return [
        InProgress(
            lot_id=one.lot.pk,
            code=one.lot.code,
            words=one.lot.product.name if one.lot.product else one.lot.get_kind_display(),
            begun_at=one.lot.begun_at,
            stands_under=one.stands_under,
            changes=one.changes,
        )
        for one in batches_touched(revision)
    ]
