"""What a find of Listeria spp. in the rooms leads to, by zone and by how often it is found again.

Each step names what it rests on. Read in part: two published accounts of the draft guidance (`GUIDANCE`: its table
goes by the number of finds and by whether the surface touches food; of a first find, clean, sanitise and test again in
the next production, on a surface that touches food with an investigation; of a second one, clean more intensively), and
the flow chart of the Canadian agency for surfaces that touch food (`THREE_FREE`: follow-up on three different days, all
three free of Listeria spp.; a follow-up that finds it has the product of that day tested). The guidance itself was not
read: what else is said of it, and the numbering of the zones, is from memory. Confirm before relying on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

GUIDANCE = (
    "FDA, draft guidance “Control of Listeria monocytogenes in Ready-To-Eat Foods” (January 2017), "
    "docket FDA-2007-D-0494, corrective actions"
)
THREE_FREE = (
    "Canadian Food Inspection Agency, manual of procedures for meat, chapter 4, appendix 1 (2011): surfaces that touch "
    "food"
)
FROM_MEMORY = "from memory"
NEGATIVES_TO_CLOSE = 3
CONTACT = 1


@dataclass(frozen=True, slots=True)
class Step:
    """What is to be done, and the published text that it rests on, with what is known of it."""

    text: str
    source: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Standing:
    """finds: in the present chain. negatives: in a row since the last find. open: more swabs are asked for.

    may_not_be_used: a surface that touches cheese, found twice or more and not yet shown to be free.
    """

    finds: int
    negatives: int
    is_open: bool
    may_not_be_used: bool
    steps: tuple[Step, ...]


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


def _steps(zone: int, finds: int, negatives: int) -> tuple[Step, ...]:
    left = NEGATIVES_TO_CLOSE - negatives
    remembered = f"{GUIDANCE} ({FROM_MEMORY})"
    thoroughly = "Clean and sanitise it more thoroughly than last time: take apart" if finds >= 2 else "Take apart"
    rest = "and look for where it lives" if finds >= 2 else "clean and sanitise it, and look for where it lives"
    steps = [Step(f"{thoroughly} what can be taken apart, {rest}.", GUIDANCE)]
    if zone <= 2 or finds >= 2:
        steps.append(Step("Swab what lies around it as well, up to the next zone.", remembered))
    if zone == CONTACT:
        source = f"{THREE_FREE}; {remembered}"
        steps.append(Step("Have the cheese tested that it touched since the last swab that was free.", source))
    if zone == CONTACT and finds >= 2:
        steps.append(Step("Do not use it until it is shown to be free.", remembered))
    if finds >= 3:
        steps.append(Step("Review the plan: the cleaning does not control it.", remembered))
    steps.append(Step(f"Swab it again after each cleaning: {left} in a row must be free.", THREE_FREE))
    return tuple(steps)
