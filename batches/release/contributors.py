"""Who has something to say about a release. A room registers its function at start-up; the gate asks them all."""

from collections.abc import Callable, Sequence
from datetime import datetime

from batches.release.points import Point
from haccp.lots.models import Lot
from haccp.premises.scope import Scope

# lots: the batch first, then every lot that went into it. Reads in a constant number of queries.
Contributor = Callable[[Scope, Sequence[Lot], datetime], Sequence[Point]]

_contributors: dict[str, Contributor] = {}


def register_point(name: str, function: Contributor) -> None:
    """Called from an AppConfig.ready(). A name registered again replaces the function of before."""
    _contributors[name] = function


def collect(scope: Scope, lots: Sequence[Lot], at: datetime) -> list[Point]:
    """The points of all, in the order in which they registered."""
    return [point for function in _contributors.values() for point in function(scope, lots, at)]
