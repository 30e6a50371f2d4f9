"""The published trees that tell whether a step is a critical control point for a hazard.

The determination follows from the answers alone; nobody types it. A tree that was superseded stays here, so that
answers given by it still lead where they led.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from haccp.science.errors import InputError


class Outcome(StrEnum):
    CCP = "ccp"
    PREREQUISITE = "prerequisite"  # prerequisite programmes suffice; they may need greater attention
    NOT_HERE = "not_here"  # not a critical control point; look at the next hazard or step
    LATER_STEP = "later_step"  # a later step is to control the hazard
    MODIFY = "modify"  # no control where one is needed: change the step, the process or the product
    OPEN = "open"  # a question is still to be answered


@dataclass(frozen=True, slots=True)
class Question:
    """yes, no: the key of the next question, or the outcome."""

    key: str
    text: str
    yes: "str | Outcome"
    no: "str | Outcome"


@dataclass(frozen=True, slots=True)
class Tree:
    """version: stored with each set of answers. known: how its text is known."""

    version: str
    title: str
    known: str
    questions: tuple[Question, ...]

    @property
    def by_key(self) -> dict[str, Question]:
        return {question.key: question for question in self.questions}


@dataclass(frozen=True, slots=True)
class Determination:
    """path: (key of question, answer) as they were met. next_question: None unless the outcome is OPEN."""

    outcome: Outcome
    path: tuple[tuple[str, bool], ...]
    next_question: Question | None
    reason: str

    @property
    def in_short(self) -> str:
        """The outcome in a few words, for a table."""
        return _IN_SHORT[self.outcome]

    @property
    def is_ccp(self) -> bool:
        return self.outcome is Outcome.CCP


# Wording is our own. Source: CXC 1-1969 (2022), Annex IV, figure 1. Questions 1 and 2 were read; 3 and 4 are at
# second hand, as several quote them in agreement.
_CODEX_2022 = Tree(
    "codex_2022",
    "CXC 1-1969 2022 Annex IV fig. 1",
    "questions 1 and 2 read, 3 and 4 at second hand",
    (
        Question(
            "q1",
            "Can prerequisite programmes hold the significant hazard at an acceptable level at this step?",
            Outcome.PREREQUISITE,
            "q2",
        ),
        Question(
            "q2",
            "Is there a specific control measure for the hazard at this step?",
            "q3",
            Outcome.NOT_HERE,
        ),
        Question(
            "q3",
            "Will a later step prevent or eliminate the hazard, or bring it to an acceptable level?",
            Outcome.LATER_STEP,
            "q4",
        ),
        Question(
            "q4",
            "Can this step specifically prevent or eliminate the hazard, or bring it to an acceptable level?",
            Outcome.CCP,
            Outcome.MODIFY,
        ),
    ),
)

# Source: CAC/RCP 1-1969, Rev. 3 (1997) and Rev. 4 (2003), diagram 2, by way of the Canadian Food Inspection Agency's
# description of it (annex III of its guide), which was read.
_CODEX_1997 = Tree(
    "codex_1997",
    "CAC/RCP 1-1969 Rev. 3 (1997) and Rev. 4 (2003), diagram 2",
    "read in an agency's description",
    (
        Question("q1", "Are there measures that control the hazard?", "q2", "q1b"),
        Question("q1b", "Is control at this step necessary for safety?", Outcome.MODIFY, Outcome.NOT_HERE),
        Question(
            "q2",
            "Is the step designed to eliminate the hazard or reduce it to an acceptable level?",
            Outcome.CCP,
            "q3",
        ),
        Question(
            "q3",
            "Could contamination exceed the acceptable level, or grow beyond it?",
            "q4",
            Outcome.NOT_HERE,
        ),
        Question(
            "q4",
            "Will a later step eliminate the hazard or reduce it to an acceptable level?",
            Outcome.LATER_STEP,
            Outcome.CCP,
        ),
    ),
)

TREES: dict[str, Tree] = {tree.version: tree for tree in (_CODEX_2022, _CODEX_1997)}
CURRENT = _CODEX_2022.version

_REASONS = {
    Outcome.CCP: "This step is a critical control point for the hazard.",
    Outcome.PREREQUISITE: "Prerequisite programmes control the hazard here; this step is not a critical control point.",
    Outcome.NOT_HERE: "This step is not a critical control point for the hazard.",
    Outcome.LATER_STEP: "A later step controls the hazard; that step is to be the critical control point.",
    Outcome.MODIFY: "Nothing controls the hazard where it must be: change the step, the process or the product.",
}

_IN_SHORT = {
    Outcome.CCP: "CCP",
    Outcome.PREREQUISITE: "prerequisite programmes",
    Outcome.NOT_HERE: "no CCP",
    Outcome.LATER_STEP: "controlled at a later step",
    Outcome.MODIFY: "change the step, the process or the product",
    Outcome.OPEN: "still open",
}


def tree_of(version: str) -> Tree:
    """The tree of that version; InputError when there is none."""
    if version not in TREES:
        raise InputError(f"There is no decision tree “{version}”.", remedy=f"Use one of: {', '.join(TREES)}.")
    return TREES[version]


def determine(version: str, answers: Mapping[str, bool]) -> Determination:
    """Where the answers lead. answers: key of question -> yes or no; those not met yet may be left out.

    InputError for an unknown tree, and for an answer to a question that the tree does not ask on this path: it would
    be kept beside a determination that it had no part in.
    """
    tree = tree_of(version)
    questions = tree.by_key
    question, path = tree.questions[0], []
    while question.key in answers:
        answer = answers[question.key]
        path.append((question.key, answer))
        leads_to = question.yes if answer else question.no
        if isinstance(leads_to, Outcome):
            _refuse_surplus(tree, answers, path)
            return Determination(leads_to, tuple(path), None, _REASONS[leads_to])
        question = questions[leads_to]
    _refuse_surplus(tree, answers, path)
    return Determination(Outcome.OPEN, tuple(path), question, f"Still to be answered: {question.text}")


def _refuse_surplus(tree: Tree, answers: Mapping[str, bool], path: list[tuple[str, bool]]) -> None:
    surplus = sorted(set(answers) - {key for key, _ in path})
    if surplus:
        raise InputError(
            f"{tree.title} does not ask {', '.join(surplus)} after the answers given.",
            remedy="Answer the questions in their order, and take later answers back.",
        )
