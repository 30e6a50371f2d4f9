"""Reads about lots: where they were, what they went into, what holds them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Subquery, UUIDField

from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot, LotEvent, LotLink, LotQuerySet
from haccp.plan.consequences import InProgress
from haccp.premises.models import Place, Premises

ENDS = (EventKind.LEFT_ROOM,)
ENTERS = (EventKind.MAKE_STARTED, EventKind.PLACED_IN_ROOM, EventKind.MILK_RECEIVED)


def lots_of(premises: Premises) -> LotQuerySet:
    return Lot.objects.for_premises(premises).with_hold().select_related("product", "revision")


def first_events(lot: Lot) -> dict[str, datetime]:
    """Kind of event -> the first time it happened."""
    first: dict[str, datetime] = {}
    for event in lot.events.order_by("occurred_at"):
        first.setdefault(event.kind, event.occurred_at)
    return first


def standing_holds(lot: Lot) -> list[Hold]:
    return list(Hold.objects.standing().filter(lot=lot).order_by("placed_at"))


def holds_of(lot: Lot) -> list[Hold]:
    """Standing and lifted, in the order in which they were placed."""
    return list(Hold.objects.filter(lot=lot).select_related("lift", "lift__lifted_by").order_by("placed_at"))


def held_count(premises: Premises) -> int:
    """How many lots of the premises may not leave."""
    return Hold.objects.standing().filter(lot__premises=premises).values("lot").distinct().count()


def in_place_between(place: Place, start: datetime | None, end: datetime) -> list[Lot]:
    """Lots that were in a place at any time in (start, end]; start None means since ever.

    A lot is in a place from the event that brought it there until its next event that names another place, or
    until it left.
    """
    lots = Lot.objects.filter(events__place=place, events__occurred_at__lte=end).distinct()
    moves: dict[UUID, list[LotEvent]] = defaultdict(list)
    for event in LotEvent.objects.filter(lot__in=lots, kind__in=[*ENTERS, EventKind.LEFT_ROOM]).order_by(
        "occurred_at", "recorded_at"
    ):
        moves[event.lot_id].append(event)
    return [lot for lot in lots if _was_inside(moves[lot.id], place, start, end)]


@dataclass(frozen=True, slots=True)
class Lodger:
    """A batch in a place. since: when it came in; on_hold: whether a hold on it stands."""

    lot: Lot
    place_id: UUID
    since: datetime
    on_hold: bool


def batches_in_places(premises: Premises, places: Iterable[Place]) -> list[Lodger]:
    """Batches that are in one of the places now, oldest first."""
    moves = LotEvent.objects.filter(lot=OuterRef("pk"), kind__in=[*ENTERS, EventKind.LEFT_ROOM]).order_by(
        "-occurred_at", "-recorded_at"
    )
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


def _was_inside(moves: list[LotEvent], place: Place, start: datetime | None, end: datetime) -> bool:
    for event, following in zip(moves, [*moves[1:], None], strict=True):
        if event.place_id != place.id or event.kind not in ENTERS or event.occurred_at > end:
            continue
        left_at = following.occurred_at if following else None
        if start is None or left_at is None or left_at > start:
            return True
    return False


def links_among(premises: Premises) -> list[tuple[UUID, UUID]]:
    """Every (parent, child) of the premises, for science.implication."""
    return list(LotLink.objects.filter(parent__premises=premises).values_list("parent_id", "child_id"))


def descendants_of(lot_ids: Iterable[UUID]) -> dict[UUID, UUID]:
    """Every lot made from these, directly or not -> the lot it came from. Costs what is reached, not what is stored."""
    seen: dict[UUID, UUID] = {}
    frontier = set(lot_ids)
    known = set(frontier)
    while frontier:
        found = LotLink.objects.filter(parent__in=frontier).values_list("child_id", "parent_id")
        frontier = set()
        for child, parent in found:
            if child not in known:
                known.add(child)
                seen[child] = parent
                frontier.add(child)
    return seen


def ancestors_of(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Every lot that went into these, directly or not."""
    seen: set[UUID] = set()
    frontier = set(lot_ids)
    while frontier:
        found = set(LotLink.objects.filter(child__in=frontier).values_list("parent_id", flat=True))
        frontier = found - seen
        seen |= frontier
    return seen


def batches_under_way(premises: Premises) -> list[InProgress]:
    """Batches that have not left yet, newest first, as an approval of a plan shows them."""
    left = LotEvent.objects.filter(lot=OuterRef("pk"), kind__in=ENDS)
    found = Lot.objects.for_premises(premises).batches().exclude(Exists(left)).select_related("product", "revision")
    return [
        InProgress(
            code=lot.code,
            words=f"{lot.product.name if lot.product else 'batch'}, begun {premises.local_date(lot.begun_at):%Y-%m-%d}",
            product_code=lot.product.code if lot.product else "",
            revision_number=lot.revision.number,
        )
        for lot in found
    ]
