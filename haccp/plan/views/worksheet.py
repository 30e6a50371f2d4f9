"""The hazard worksheet: each hazard with its weight in words, its controls, and what the decision tree says."""

from collections.abc import Iterator
from dataclasses import dataclass

from haccp.plan.document.parts import Borrowed, ControlMeasure, DecisionAnswers, Hazard
from haccp.plan.findings import Finding
from haccp.plan.labels import choice_word
from haccp.plan.workspace import Workspace
from haccp.science.decision_tree import TREES

OUTCOMES = {
    "ccp": "critical control point",
    "prerequisite": "prerequisite programme",
    "not_here": "not a critical control point",
    "later_step": "controlled at a later step",
    "modify": "change the process",
    "open": "still to be answered",
}


@dataclass(frozen=True, slots=True)
class Determined:
    """Answers to the tree at one step. path: (question in words, answer)."""

    decision: DecisionAnswers
    step: str
    outcome: str
    reason: str
    path: tuple[tuple[str, bool], ...]

    @property
    def words(self) -> str:
        return OUTCOMES[self.outcome]


@dataclass(frozen=True, slots=True)
class Row:
    hazard: Hazard
    step: str
    position: int
    kind: str
    likelihood: str
    severity: str
    measures: tuple[ControlMeasure, ...]
    codes: tuple[str, ...]
    determined: tuple[Determined, ...]
    findings: tuple[Finding, ...]
    sources: tuple[Borrowed, ...]

    @property
    def product(self) -> int:
        return self.hazard.likelihood * self.hazard.severity


def worksheet(work: Workspace, *, determined_only: bool = False) -> list[Row]:
    """In the order of the flow. determined_only: the significant ones, for which the tree is to be answered."""
    document = work.document
    words = {(level.axis, level.rank): level.word for level in document.risk_levels}
    steps = {step.key: step for step in document.steps}
    measures: dict[str, list[ControlMeasure]] = {}
    for measure in document.control_measures:
        measures.setdefault(measure.hazard, []).append(measure)
    codes: dict[str, list[str]] = {}
    for point in document.control_points:
        for key in point.hazards:
            codes.setdefault(key, []).append(point.code)
    decisions: dict[str, list[Determined]] = {}
    for one in _determined(work):
        decisions.setdefault(one.decision.hazard, []).append(one)
    rows = [
        Row(
            hazard=hazard,
            step=steps[hazard.step].name,
            position=steps[hazard.step].position,
            kind=choice_word(hazard.kind),
            likelihood=words.get(("likelihood", hazard.likelihood), ""),
            severity=words.get(("severity", hazard.severity), ""),
            measures=tuple(measures.get(hazard.key, ())),
            codes=tuple(codes.get(hazard.key, ())),
            determined=tuple(decisions.get(hazard.key, ())),
            findings=tuple(_findings(work, hazard, decisions.get(hazard.key, []))),
            sources=tuple(work.marks.get(hazard.key, ())),
        )
        for hazard in document.hazards
        if hazard.significant or not determined_only
    ]
    return sorted(rows, key=lambda row: (row.position, not row.hazard.significant, row.hazard.name))


def _determined(work: Workspace) -> Iterator[Determined]:
    for decision in work.document.decisions:
        found = decision.determination
        questions = TREES[decision.tree].by_key
        path = tuple((questions[key].text, answer) for key, answer in found.path)
        yield Determined(decision, work.document.title_of(decision.step), found.outcome.value, found.reason, path)


def _findings(work: Workspace, hazard: Hazard, decisions: list[Determined]) -> Iterator[Finding]:
    yield from work.by_part.get(hazard.key, ())
    for one in decisions:
        yield from work.by_part.get(one.decision.key, ())
