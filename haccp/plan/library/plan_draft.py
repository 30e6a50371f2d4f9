"""What a draft plan consists of. Nothing here knows a database."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from haccp.plan.library.conditions import Answer
from haccp.plan.library.entries import CheckEntry, ReadyLimit
from haccp.science.decision_tree import CURRENT, Outcome, determine


@dataclass(frozen=True, slots=True)
class StepDraft:
    id: str
    position: int
    name: str
    description: str


@dataclass(frozen=True, slots=True)
class LinkDraft:
    """source / target: ids of steps; source empty for what enters, target empty for what leaves.

    kind: "flow", "input", "output" or "rework".
    """

    kind: str
    source: str
    target: str
    material: str = ""


@dataclass(frozen=True, slots=True)
class HazardDraft:
    """likelihood, severity: 1 to 5, suggested; the scale is the producer's. controls: ids of controls in the plan.

    tree: answers to the current decision tree; None for a hazard that is not significant.
    """

    hazard: str
    step: str
    kind: str
    name: str
    how: str
    likelihood: int
    severity: int
    significant: bool
    justification: str
    control_measure: str
    controls: tuple[str, ...]
    tree: Mapping[str, bool] | None
    sources: tuple[str, ...]

    @property
    def determination(self) -> Outcome | None:
        return None if self.tree is None else determine(CURRENT, self.tree).outcome


@dataclass(frozen=True, slots=True)
class BorrowedLimit:
    """A limit taken over from a published value. needs_confirming: its text was not read."""

    key: str
    value: str
    ready: ReadyLimit
    document: str
    clause: str
    known: str

    @property
    def needs_confirming(self) -> bool:
        return self.known != "read"


@dataclass(frozen=True, slots=True)
class OpenLimit:
    """A limit that is the producer's to set and to validate."""

    key: str
    statement: str
    question: str
    quantity: str
    comparator: str
    evaluator: str
    help: str = ""


@dataclass(frozen=True, slots=True)
class ControlDraft:
    """code: CCP 1, PRP 3. hazards: (hazard id, step id) of those that it controls."""

    id: str
    code: str
    kind: str
    name: str
    programme: str
    step: str
    hazards: tuple[tuple[str, str], ...]
    limits: tuple[BorrowedLimit | OpenLimit, ...]
    checks: tuple[CheckEntry, ...]
    corrective_action: str
    verification: str
    validation: str

    @property
    def is_critical(self) -> bool:
        return self.kind == "ccp"

    @property
    def borrowed(self) -> tuple[BorrowedLimit, ...]:
        return tuple(limit for limit in self.limits if isinstance(limit, BorrowedLimit))

    @property
    def open(self) -> tuple[OpenLimit, ...]:
        return tuple(limit for limit in self.limits if isinstance(limit, OpenLimit))


@dataclass(frozen=True, slots=True)
class OpenJudgement:
    """Something that only the producer can decide. place: code of a control, id of a step, or empty."""

    place: str
    question: str
    help: str = ""


@dataclass(frozen=True, slots=True)
class Conflict:
    """An answer that the law does not let stand."""

    value: str
    sentence: str
    citation: str


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """A whole draft. library: name, number and hash of what it was drawn from."""

    library: tuple[str, int, str]
    answers: Mapping[str, Answer]
    drafted_for: dt.date
    steps: tuple[StepDraft, ...]
    links: tuple[LinkDraft, ...]
    hazards: tuple[HazardDraft, ...]
    controls: tuple[ControlDraft, ...]
    open_judgements: tuple[OpenJudgement, ...]
    conflicts: tuple[Conflict, ...]

    @property
    def critical(self) -> tuple[ControlDraft, ...]:
        return tuple(control for control in self.controls if control.is_critical)

    @property
    def prerequisites(self) -> tuple[ControlDraft, ...]:
        return tuple(control for control in self.controls if not control.is_critical)
