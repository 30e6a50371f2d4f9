"""What a place is still needed for: the rooms above say so, because they know and this room does not."""

from collections.abc import Callable

from haccp.premises.models import Place

# Sentence parts such as “the check “Room temperature” of plan revision 3”.
UsesOfPlace = Callable[[Place], list[str]]

_registered: dict[str, UsesOfPlace] = {}


def register_uses_of_place(name: str, uses: UsesOfPlace) -> None:
    """Called from an AppConfig.ready(); name: of the room that answers."""
    _registered[name] = uses


def uses_of_place(place: Place) -> list[str]:
    return [use for uses in _registered.values() for use in uses(place)]
