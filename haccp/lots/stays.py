"""Where lots were, from when until when."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.lots.kinds import EventKind
from haccp.lots.models import LotEvent
from haccp.premises.models import Place

ENTERS = (
    EventKind.MAKE_STARTED,
    EventKind.LAID_IN_BRINE,
    EventKind.PLACED_IN_ROOM,
    EventKind.MILK_RECEIVED,
)
MOVES = (*ENTERS, EventKind.LEFT_ROOM)


@dataclass(frozen=True, slots=True)
class InPlace:
    """end: when the lot was moved on or left; None while it is there."""

    lot_id: UUID
    place: Place
    start: datetime
    end: datetime | None


def moves_of(lot_ids: Iterable[UUID]) -> dict[UUID, list[LotEvent]]:
    """Lot -> the events that brought it somewhere or took it away, in order. One query."""
    found: dict[UUID, list[LotEvent]] = defaultdict(list)
    events = LotEvent.objects.filter(lot__in=list(lot_ids), kind__in=MOVES).select_related("place", "lot")
    for event in events.order_by("occurred_at", "recorded_at"):
        found[event.lot_id].append(event)
    return found


def in_places(moves: Sequence[LotEvent]) -> list[InPlace]:
    """The moves of one lot as stays: each lasts from the move that names a place to the next move."""
    return [
        InPlace(move.lot_id, move.place, move.occurred_at, following.occurred_at if following else None)
        for move, following in zip(moves, [*moves[1:], None], strict=False)
        if move.place is not None and move.kind in ENTERS
    ]
