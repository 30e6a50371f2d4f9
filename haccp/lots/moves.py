"""Rooms above that want to know when something happened to a lot: inside the same transaction, so that nothing lies
between the event and what follows from it."""

from collections.abc import Callable
from datetime import datetime

from haccp.lots.models import Lot
from haccp.premises.models import Place
from haccp.premises.scope import Scope

# (scope, lot, the place that the event names, the moment of writing)
Listener = Callable[[Scope, Lot, Place | None, datetime], None]

_LISTENERS: list[Listener] = []


def register(listener: Listener) -> None:
    """Called once, when a room is ready."""
    if listener not in _LISTENERS:
        _LISTENERS.append(listener)


def tell(scope: Scope, lot: Lot, place: Place | None, at: datetime) -> None:
    for listener in _LISTENERS:
        listener(scope, lot, place, at)
