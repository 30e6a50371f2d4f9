"""When places were cleaned, as a room above tells it: what is on a vat stays there until then."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Cleanings:
    """asked_since: from when on cleaning of the place is recorded. at: when it was done, limits met, in order."""

    asked_since: datetime
    at: tuple[datetime, ...]


# Places -> their cleanings; a place of which no cleaning is asked is left out.
Source = Callable[[Collection[UUID]], Mapping[UUID, Cleanings]]

_SOURCES: list[Source] = []


def register(source: Source) -> None:
    """Called once, when a room is ready."""
    if source not in _SOURCES:
        _SOURCES.append(source)


def cleanings_of(places: Collection[UUID]) -> dict[UUID, Cleanings]:
    return {place: found for source in _SOURCES for place, found in source(places).items()} if places else {}
