"""What a breach may have touched: how it goes from one thing to another in the order of time."""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

from haccp.science.errors import InputError

Node = TypeVar("Node", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Contact(Generic[Node]):
    """source may pass on to target what is in it or on it. All times are aware.

    begun: target is touched from then on at the earliest. ended: the last moment at which source was still in contact
    with what carries it; None while it is. What touched source only later is not passed on. why: a sentence.
    """

    source: Node
    target: Node
    begun: datetime
    ended: datetime | None
    why: str = ""

    def passes(self, touched_at: datetime) -> datetime | None:
        """When target is touched by a source that was touched at a moment; None when it is not."""
        if self.ended is not None and touched_at > self.ended:
            return None
        return max(touched_at, self.begun)


@dataclass(frozen=True, slots=True)
class Reached(Generic[Node]):
    """at: from when on a node may be touched. by: the contact that touched it first; None for a seed."""

    at: datetime
    by: Contact[Node] | None


def spread(
    seeds: Mapping[Node, datetime], contacts_of: Callable[[Mapping[Node, datetime]], Iterable[Contact[Node]]]
) -> dict[Node, Reached[Node]]:
    """All that may be touched, each from the earliest moment at which anything could have reached it.

    seeds: node -> from when on it was touched. contacts_of: contacts whose source is one of the nodes given (with the
    moment from which each is touched; it may leave out what could not pass by then); asked once for every round, so
    that a database answers some few questions for all nodes of a round. A node reached earlier by a longer way is
    asked for again. Nodes come in the order in which they were found, seeds first. Circles do no harm: a time only
    ever becomes earlier, and only to one of the times given.

    Raises InputError: naive times.
    """
    if any(moment.tzinfo is None for moment in seeds.values()):
        raise InputError("A time at which something was touched has no time zone.", remedy="Give aware times.")
    found: dict[Node, Reached[Node]] = {node: Reached(at, None) for node, at in seeds.items()}
    asked: Mapping[Node, datetime] = dict(seeds)
    while asked:
        earlier: dict[Node, Reached[Node]] = {}
        for contact in contacts_of(asked):
            source = asked.get(contact.source)
            at = contact.passes(source) if source is not None else None
            known = earlier.get(contact.target) or found.get(contact.target)
            if at is not None and (known is None or at < known.at):
                earlier[contact.target] = Reached(at, contact)
        found |= earlier
        asked = {node: reached.at for node, reached in earlier.items()}
    return found
