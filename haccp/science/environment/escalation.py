"""What a find of Listeria spp. in the rooms leads to, by zone and by how often it is found again.

Zones 1 to 4 and the steps follow the common practice of environmental monitoring as FDA describes it in its draft
guidance "Control of Listeria monocytogenes in Ready-To-Eat Foods" (January 2017), section on environmental
monitoring: a find is followed by cleaning and by swabbing again; a second one on a surface that touches food means
holding and testing the product and stopping the line. Figures and wording from memory: confirm before relying on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

NEGATIVES_TO_CLOSE = 3  # swabs in a row, on days of cleaning; from memory, as above
CONTACT = 1


@dataclass(frozen=True, slots=True)
class Standing:
    """finds: in the present chain. negatives: in a row since the last find. open: more swabs are asked for.

    may_not_be_used: a surface that touches cheese, found twice or more and not yet shown to be free.
    """

    finds: int
    negatives: int
    is_open: bool
    may_not_be_used: bool
    steps: tuple[str, ...]


def standing(zone: int, found: Sequence[bool]) -> Standing:
    """found: the results of one point in order of taking, True for Listeria spp. found."""
    finds = negatives = 0
    for one in found:
        if one:
            finds, negatives = finds + 1, 0
        elif finds:
            negatives += 1
            if negatives >= NEGATIVES_TO_CLOSE:
                finds = negatives = 0
    is_open = finds > 0
    return Standing(
        finds=finds,
        negatives=negatives,
        is_open=is_open,
        may_not_be_used=is_open and zone == CONTACT and finds >= 2,
        steps=_steps(zone, finds, negatives) if is_open else (),
    )


def _steps(zone: int, finds: int, negatives: int) -> tuple[str, ...]:
    left = NEGATIVES_TO_CLOSE - negatives
    steps = ["Take apart what can be taken apart, clean and sanitise it, and look for where it lives."]
    if zone <= 2 or finds >= 2:
        steps.append("Swab what lies around it as well, up to the next zone.")
    if zone == CONTACT:
        steps.append("Have the cheese tested that it touched since the last swab that was free.")
    if zone == CONTACT and finds >= 2:
        steps.append("Do not use it until it is shown to be free.")
    if finds >= 3:
        steps.append("Review the plan: the cleaning does not control it.")
    steps.append(f"Swab it again after each cleaning: {left} in a row must be free.")
    return tuple(steps)
