"""The decision tree of Codex: which step is a critical control point for a significant hazard.

CXC 1-1969 (2022), Annex IV, figure 1. Questions 1 and 2 were read in an excerpt, 3 and 4 are from memory.
The tree of 1997/2003 asks other questions in another order: the version is kept with every set of answers.
"""

from dataclasses import dataclass
from enum import StrEnum

TREE = "CXC 1-1969 (2022), Annex IV"


class Determination(StrEnum):
    BY_PREREQUISITE = "by_prerequisite"  # not a CCP; a practice that may need greater attention
    AT_A_LATER_STEP = "at_a_later_step"
    CCP = "ccp"
    CHANGE_THE_PROCESS = "change_the_process"


@dataclass(frozen=True, slots=True)
class TreeAnswers:
    """None: the question was not reached.

    prerequisites_suffice (Q1): prerequisite programmes hold the hazard at an acceptable level at this step.
    measure_here (Q2): this step has a specific control measure for it.
    later_step_controls (Q3): a later step prevents, eliminates or reduces it to an acceptable level; where Q2 is
        no, whether such a step is at hand at all.
    this_step_controls (Q4): this step can specifically do so.
    """

    prerequisites_suffice: bool
    measure_here: bool | None = None
    later_step_controls: bool | None = None
    this_step_controls: bool | None = None
    tree: str = TREE

    @property
    def determination(self) -> Determination:
        """What follows from the answers; it is never stored apart from them."""
        if self.prerequisites_suffice:
            return Determination.BY_PREREQUISITE
        if self.later_step_controls:
            return Determination.AT_A_LATER_STEP
        if self.measure_here and self.this_step_controls:
            return Determination.CCP
        return Determination.CHANGE_THE_PROCESS
