"""What else lies in a place beside what its lots' own events say: rooms above tell it, stock its pieces."""

from collections.abc import Callable, Iterable
from datetime import datetime
from uuid import UUID

from haccp.premises.models import Place

# (place, start or None, end) -> ids of the lots of which a part lay there at any time in (start, end].
Source = Callable[[Place, datetime | None, datetime], Iterable[UUID]]

_SOURCES: list[Source] = []


def register(source: Source) -> None:
    """Called once, when a room is ready."""
    if source not in _SOURCES:
        _SOURCES.append(source)


def lots_with_parts_in(place: Place, start: datetime | None, end: datetime) -> set[UUID]:
    return {lot_id for source in _SOURCES for lot_id in source(place, start, end)}
