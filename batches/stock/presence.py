"""Where pieces lay and when, for what a place may have done to them."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q

from batches.stock.models import Item, ItemEvent
from haccp.premises.models import Place


def lots_with_pieces_in(place: Place, start: datetime | None, end: datetime) -> set[UUID]:
    """Ids of lots of which a piece lay in the place at any time in (start, end]; start None means since ever."""
    ever_there = Item.objects.filter(
        Q(place=place) | Q(events__kind=ItemEvent.Kind.MOVED, events__place=place), entered_at__lte=end
    )
    return {
        item.lot_id
        for item in ever_there.distinct().prefetch_related("events")
        if any(
            there == place.pk and begun <= end and (start is None or left is None or left > start)
            for there, begun, left in _stays(item)
        )
    }


def _stays(item: Item) -> list[tuple[UUID | None, datetime, datetime | None]]:
    """(place, from, until or None while it lies there still), in order."""
    found: list[tuple[UUID | None, datetime, datetime | None]] = []
    there, begun = item.place_id, item.entered_at
    for event in item.events.all():
        if event.kind == ItemEvent.Kind.MOVED:
            found.append((there, begun, event.occurred_at))
            there, begun = event.place_id, event.occurred_at
        if event.ends:
            return [*found, (there, begun, event.occurred_at)]
    return [*found, (there, begun, None)]
