"""Step 7: which steps are critical control points, by the answers to the decision tree."""

from collections.abc import Iterator

from haccp.plan.document.parts import ControlPoint, DecisionAnswers
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science import flow
from haccp.science.decision_tree import CURRENT, TREES, Outcome

STEP_7 = "CXC 1-1969 (2022), chapter two, step 7 (principle 2), and Annex IV"


@rule("decision.unanswered", STEP_7, Severity.WARNS, remedy="Answer the decision tree for it.")
def unanswered(plan: Examined) -> Iterator[Found]:
    for hazard in plan.significant:
        if hazard.key not in plan.decisions_of_hazard:
            yield Found(hazard, f"“{hazard.name}” is significant, and the decision tree was not answered for it.")


@rule("decision.incomplete", STEP_7, Severity.WARNS, remedy="Answer the questions that are left.")
def incomplete(plan: Examined) -> Iterator[Found]:
    for decision in plan.document.decisions:
        determination = decision.determination
        if determination.next_question is not None:
            yield Found(decision, f"{_what(plan, decision)}: {determination.reason}")


@rule(
    "decision.ccp_missing",
    STEP_7,
    Severity.BLOCKS,
    remedy="Add the critical control point at that step, with its hazard.",
)
def ccp_missing(plan: Examined) -> Iterator[Found]:
    for decision in plan.document.decisions:
        if decision.determination.is_ccp and not any(
            point.is_critical and point.step in (decision.step, None)
            for point in plan.points_of_hazard.get(decision.hazard, [])
        ):
            yield Found(
                decision,
                f"{_what(plan, decision)} is a critical control point by the tree, but the plan has none there.",
            )


@rule(
    "decision.later_ccp_missing",
    STEP_7,
    Severity.BLOCKS,
    remedy="Make the later step that controls it a control point.",
)
def later_ccp_missing(plan: Examined) -> Iterator[Found]:
    for decision in plan.document.decisions:
        if decision.determination.outcome is Outcome.LATER_STEP and not _is_controlled_later(plan, decision):
            yield Found(
                decision,
                f"{_what(plan, decision)}: a later step is to control it, but no later control point does.",
            )


def _is_controlled_later(plan: Examined, decision: DecisionAnswers) -> bool:
    """By a control point after this step that names the hazard, or one of the same name at its own step."""
    hazard = plan.hazards[decision.hazard]
    later = flow.later_steps(plan.document.flow, decision.step)
    position = plan.steps[decision.step].position
    for point in plan.document.control_points:
        if point.step is None or point.step not in plan.steps:
            continue
        follows = point.step in later if plan.document.links else plan.steps[point.step].position > position
        if follows and _names(plan, point, hazard.key, hazard.name, hazard.agent):
            return True
    return False


def _names(plan: Examined, point: ControlPoint, key: str, name: str, agent: str) -> bool:
    named = [plan.hazards[other] for other in point.hazards if other in plan.hazards]
    return any(other.key == key or other.name == name or (agent and other.agent == agent) for other in named)


@rule(
    "decision.modify", STEP_7, Severity.BLOCKS, remedy="Change the step, the process or the product, and analyse again."
)
def modify(plan: Examined) -> Iterator[Found]:
    for decision in plan.document.decisions:
        if decision.determination.outcome is Outcome.MODIFY:
            yield Found(decision, f"{_what(plan, decision)}: {decision.determination.reason}")


@rule(
    "decision.not_a_ccp", STEP_7, Severity.WARNS, remedy="Answer the tree again, or make it a prerequisite programme."
)
def not_a_ccp(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        found = [
            decision.determination.outcome
            for hazard in point.hazards
            for decision in plan.decisions_of_hazard.get(hazard, [])
            if decision.step == point.step
        ]
        if found and not any(outcome in (Outcome.CCP, Outcome.OPEN) for outcome in found):
            yield Found(point, f"By the tree's answers {point.title} is not a critical control point.")


@rule("decision.old_tree", STEP_7, Severity.NOTES, remedy="Answer the tree of 2022 at the next review.")
def old_tree(plan: Examined) -> Iterator[Found]:
    old = [decision for decision in plan.document.decisions if decision.tree != CURRENT]
    if old:
        titles = ", ".join(sorted({TREES[decision.tree].title for decision in old}))
        yield Found(None, f"{len(old)} determinations follow a tree that was replaced: {titles}.")


def _what(plan: Examined, decision: DecisionAnswers) -> str:
    return f"“{plan.hazards[decision.hazard].name}” at “{plan.steps[decision.step].name}”"
