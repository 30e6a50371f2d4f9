"""Parts of the batch page that rooms above add. A room registers a function at start-up; the page asks them all."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from batches.making.models import Make
from haccp.premises.scope import ScopedRequest


class Position(StrEnum):
    """Where on the page: what a person asks first, what follows the make, what is looked up beside it."""

    FIRST = "first"
    AFTER = "after"
    BESIDE = "beside"


@dataclass(frozen=True, slots=True)
class Panel:
    """template is included with `panel` set to data."""

    position: Position
    template: str
    data: Mapping[str, object] = field(default_factory=dict)


Provider = Callable[[ScopedRequest, Make, datetime], Panel | None]

_providers: dict[str, Provider] = {}


def register(name: str, provider: Provider) -> None:
    """Called from an AppConfig.ready(). A name registered again replaces the function of before."""
    _providers[name] = provider


def panels_of(request: ScopedRequest, make: Make, now: datetime) -> dict[str, list[Panel]]:
    """Position -> its panels, in the order in which their rooms registered."""
    found: dict[str, list[Panel]] = {position.value: [] for position in Position}
    for provider in _providers.values():
        panel = provider(request, make, now)
        if panel is not None:
            found[panel.position].append(panel)
    return found
