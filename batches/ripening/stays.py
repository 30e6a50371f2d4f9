"""Where a batch was, from when until when: its moves as stays in rooms."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from uuid import UUID

from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import ENTERS
from haccp.science.ageing import Stay

MOVES = (*ENTERS, EventKind.LEFT_ROOM)


def moves_of(lots: Iterable[Lot]) -> Mapping[UUID, list[LotEvent]]:
    """Lot -> the events that brought it somewhere or took it away, in order. One query."""
    found: dict[UUID, list[LotEvent]] = defaultdict(list)
    events = LotEvent.objects.filter(lot__in=[lot.pk for lot in lots], kind__in=MOVES).select_related("place")
    for event in events.order_by("occurred_at", "recorded_at"):
        found[event.lot_id].append(event)
    return found


def stays_of(moves: Sequence[LotEvent]) -> list[Stay]:
    """A stay lasts from the move that names a place to the next move; a move without a place ends one only."""
    pairs = [*pairwise([*moves, None])] if moves else []
    return [
        Stay(move.place.name, move.occurred_at, following.occurred_at if following else None)
        for move, following in pairs
        if move is not None and move.place is not None and move.kind != EventKind.LEFT_ROOM
    ]
