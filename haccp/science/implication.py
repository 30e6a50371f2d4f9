"""What a deviation implicates: the lots that descend from it, and the time during which control was not proven."""

from collections import deque
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from graphlib import CycleError, TopologicalSorter
from typing import TypeVar

from haccp.science.errors import InputError
from haccp.science.ruling import Ruling

Node = TypeVar("Node", bound=Hashable)


def reached(seeds: Iterable[Node], links: Iterable[tuple[Node, Node]]) -> dict[Node, tuple[Node, ...]]:
    """All that descends from the seeds, each with the path that explains why.

    links: (parent, child), child made from, or exposed to, parent. To trace back instead, exchange each pair.
    Returns node -> path, from a seed to the node itself, both included; a seed has the path of itself alone. The
    path is one of the shortest; of several, the first by the order of seeds and links. Nodes come nearest first.

    Raises InputError naming the nodes when the links reached go round in a circle: nothing is made from itself, so
    a link is wrong. Circles that the seeds do not reach change no answer and are left alone.
    """
    children: dict[Node, list[Node]] = {}
    for parent, child in links:
        children.setdefault(parent, []).append(child)
    paths: dict[Node, tuple[Node, ...]] = {seed: (seed,) for seed in seeds}
    waiting = deque(paths)
    while waiting:
        parent = waiting.popleft()
        for child in children.get(parent, ()):
            if child not in paths:
                paths[child] = (*paths[parent], child)
                waiting.append(child)
    _refuse_circles({parent: children.get(parent, []) for parent in paths})
    return paths


def _refuse_circles(children: dict[Node, list[Node]]) -> None:
    try:
        TopologicalSorter(children).prepare()
    except CycleError as error:
        # graphlib takes the children for predecessors, so its circle runs from child to parent.
        circle = " → ".join(str(node) for node in reversed(error.args[1]))
        raise InputError(
            f"The links go round in a circle: {circle}.", remedy="Correct the one of these links that is wrong."
        ) from error


@dataclass(frozen=True, slots=True)
class Exposure:
    """The time during which control was not proven. All times are aware.

    after: the last moment at which a check proved control, itself not exposed; None when none ever did: everything
        before the breach is exposed.
    breach_at: when the breach was observed.
    until: the moment from which control is proven again, itself not exposed; None while it is not: everything from
        the breach on is exposed.
    """

    after: datetime | None
    breach_at: datetime
    until: datetime | None

    def covers(self, began_at: datetime, ended_at: datetime | None) -> bool:
        """Whether anything that lasted from began_at to ended_at (None: still goes on) was exposed in part.

        For a single moment give it twice.
        """
        began_in_time = self.until is None or began_at < self.until
        return began_in_time and (self.after is None or ended_at is None or ended_at > self.after)


def interval_since(
    last_met_at: datetime | None, breach_at: datetime, *, regained_at: datetime | None = None
) -> Exposure:
    """The exposure that a breach implicates: from the last check that was met until control was regained.

    A check proves control at its moment only. When the next one fails, control may have been lost straight after
    the last that was met, so all in between is implicated and not only what came after the breach was seen (Codex
    CXC 1-1969, HACCP principles 4 and 5, from memory: monitoring finds a deviation in time to isolate product).

    last_met_at: the last check before the breach that was met or close; None when there is none. A check that is
        unproven or awaited does not count.
    regained_at: the first check after the breach that was met or close; None while there is none.

    Raises InputError: naive times, or times not in the order last met, breach, regained.
    """
    given = [moment for moment in (last_met_at, breach_at, regained_at) if moment is not None]
    if any(moment.tzinfo is None for moment in given):
        raise InputError("A time of the breach has no time zone.", remedy="Give aware times.")
    if last_met_at is not None and last_met_at >= breach_at:
        raise InputError(
            "The last check that was met is not before the breach.", remedy="Give a check made before the breach."
        )
    if regained_at is not None and regained_at <= breach_at:
        raise InputError(
            "Control is said to be regained before the breach.", remedy="Give a check made after the breach."
        )
    return Exposure(after=last_met_at, breach_at=breach_at, until=regained_at)


def interval_around(breach_at: datetime, rulings: Sequence[tuple[datetime, Ruling]]) -> Exposure:
    """The exposure around a breach, from all rulings of the same control: (observed at, ruling), in any order.

    Unproven, awaited and breached rulings are not proof of control, before the breach or after it; nor is a ruling
    of the moment of the breach itself.

    Raises InputError: naive times.
    """
    if any(moment.tzinfo is None for moment in (breach_at, *(moment for moment, _ in rulings))):
        raise InputError("A time of a ruling or of the breach has no time zone.", remedy="Give aware times.")
    proven = [moment for moment, ruling in rulings if ruling.is_satisfied]
    return interval_since(
        max((moment for moment in proven if moment < breach_at), default=None),
        breach_at,
        regained_at=min((moment for moment in proven if moment > breach_at), default=None),
    )
