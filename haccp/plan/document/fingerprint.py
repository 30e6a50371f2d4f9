"""What a person signs of a plan, as a number that changes when it does."""

from collections.abc import Iterable
from typing import Any

from haccp.ledger.canonical import sha256_of
from haccp.plan.document.document import PlanDocument
from haccp.plan.document.shape import to_json


def flow_as_json(document: PlanDocument) -> dict[str, Any]:
    """The flow diagram as data: steps, what goes in and out, and the ways between them."""
    return {
        "steps": [to_json(step) for step in document.steps],
        "materials": [to_json(material) for material in document.materials],
        "links": [to_json(link) for link in document.links],
    }


def flow_sha256(document: PlanDocument) -> str:
    return sha256_of(flow_as_json(document))


def part_sha256(part: object, names: Iterable[str]) -> str:
    """Of the named attributes of a part, as one form shows them, so that a change made meanwhile is noticed."""
    written = to_json(part)
    return sha256_of({name: written.get(name) for name in names})
