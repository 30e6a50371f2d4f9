"""Where a batch was, from when until when, as the ageing clock reads it."""

from collections.abc import Sequence

from haccp.lots.models import LotEvent
from haccp.lots.stays import in_places
from haccp.science.ageing import Stay


def stays_of(moves: Sequence[LotEvent]) -> list[Stay]:
    """A stay lasts from the move that names a place to the next move; a move without a place ends one only."""
    return [Stay(stay.place.name, stay.start, stay.end) for stay in in_places(moves)]
