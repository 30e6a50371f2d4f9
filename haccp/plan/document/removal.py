"""What goes when a part goes."""

from dataclasses import dataclass

from haccp.plan.document.document import PlanDocument
from haccp.plan.document.parts import Part
from haccp.plan.document.shape import Form, specs_of


@dataclass(frozen=True, slots=True)
class Removal:
    """removed: the part and all that belongs to it. still_referring: parts that stay, yet refer to one of these."""

    removed: tuple[Part, ...]
    still_referring: tuple[Part, ...]


def removal(document: PlanDocument, key: str) -> Removal:
    going = {key}
    # Owners stand before what they own, so that one pass finds all; source marks and judgements stand last.
    for _, part in document.parts():
        if part.key not in going and _owners(part) & going:
            going.add(part.key)
    removed = tuple(part for _, part in document.parts() if part.key in going)
    staying = tuple(part for _, part in document.parts() if part.key not in going and _referred(part) & going)
    return Removal(removed, staying)


def _owners(part: Part) -> set[str]:
    return {
        getattr(part, name) for name, spec in specs_of(type(part)).items() if spec.form is Form.PART and spec.owned
    } - {None}


def _referred(part: Part) -> set[str]:
    found: set[str] = set()
    for name, spec in specs_of(type(part)).items():
        if spec.form is Form.PART:
            found.add(getattr(part, name))
        elif spec.form is Form.PARTS:
            found.update(getattr(part, name))
    return found
