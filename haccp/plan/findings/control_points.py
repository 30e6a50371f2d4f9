"""Critical control points: what each needs to be one. Steps 7 to 11."""

from collections.abc import Iterator

from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science.decision_tree import Outcome

CHAPTER = "CXC 1-1969 (2022), chapter two, "
NOT_CRITICAL = (Outcome.PREREQUISITE, Outcome.NOT_HERE)


@rule("ccp.none", f"{CHAPTER}step 7 (principle 2)", Severity.BLOCKS, remedy="Determine them before approval.")
def none(plan: Examined) -> Iterator[Found]:
    """A plan may do without one where the tree says so of every significant hazard."""
    if plan.critical:
        return
    settled = plan.document.hazards and all(
        any(decision.determination.outcome in NOT_CRITICAL for decision in plan.decisions_of_hazard.get(hazard.key, []))
        for hazard in plan.significant
    )
    if not settled:
        yield Found(None, "The plan has no critical control point yet.")


@rule("ccp.no_limit", f"{CHAPTER}step 8 (principle 3)", Severity.BLOCKS, remedy="Give it a critical limit.")
def no_limit(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.key not in plan.limits_of:
            yield Found(point, f"{point.title} has no critical limit.")


@rule("ccp.no_monitoring", f"{CHAPTER}step 9 (principle 4)", Severity.BLOCKS, remedy="Add a check that watches it.")
def no_monitoring(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.key not in plan.checks_of:
            yield Found(point, f"{point.title} is not monitored by any check.")


@rule(
    "ccp.no_corrective_action",
    f"{CHAPTER}step 10 (principle 5)",
    Severity.BLOCKS,
    remedy="Say what is done when its limit is not met.",
)
def no_corrective_action(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if not point.corrective_action.strip():
            yield Found(point, f"{point.title} has no corrective action.")


@rule(
    "ccp.no_disposition",
    f"{CHAPTER}step 10 (principle 5); 9 CFR 417.3(a) as a model",
    Severity.WARNS,
    remedy="Say what becomes of the product made since the limit was last met.",
)
def no_disposition(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.corrective_action.strip() and not point.disposition.strip():
            yield Found(point, f"The corrective action of {point.title} does not say what is done with the product.")


@rule("ccp.no_validation", f"{CHAPTER}steps 8 and 11 (principle 6)", Severity.WARNS, remedy="Add the evidence.")
def no_validation(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.key not in plan.validations_of:
            yield Found(point, f"Nothing shows that {point.title}, so limited, controls its hazards.")


@rule(
    "ccp.no_verification",
    f"{CHAPTER}step 11 (principle 6)",
    Severity.WARNS,
    remedy="Add an activity, how often and who.",
)
def no_verification(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.key not in plan.verifications_of and not point.verification.strip():
            yield Found(point, f"{point.title} has no verification.")


@rule("ccp.no_hazard", f"{CHAPTER}step 7 (principle 2)", Severity.WARNS, remedy="Name the hazards that it controls.")
def no_hazard(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if not any(hazard in plan.hazards and plan.hazards[hazard].significant for hazard in point.hazards):
            yield Found(point, f"{point.title} controls no significant hazard.")


@rule("ccp.no_step", f"{CHAPTER}step 7 (principle 2)", Severity.WARNS, remedy="Choose its step.")
def no_step(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        if point.step is None:
            yield Found(point, f"It is not said at which step {point.title} stands.")
