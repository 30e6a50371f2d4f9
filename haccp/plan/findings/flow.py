"""Steps 4 and 5: the flow diagram, and its confirmation on site."""

from collections.abc import Iterator

from haccp.plan.document.vocabulary import ENDING_STEPS, STARTING_STEPS
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science import flow

STEP_4 = "CXC 1-1969 (2022), chapter two, step 4"
STEP_5 = "CXC 1-1969 (2022), chapter two, step 5"


@rule("flow.empty", STEP_4, Severity.BLOCKS, remedy="Add the steps from reception to dispatch.")
def empty(plan: Examined) -> Iterator[Found]:
    if not plan.document.steps:
        yield Found(None, "The plan has no process step.")


@rule("flow.cycle", STEP_4, Severity.BLOCKS, remedy="Mark the link that leads back as rework, or take it out.")
def cycle(plan: Examined) -> Iterator[Found]:
    for knot in flow.cycles(plan.document.flow):
        names = " → ".join(plan.steps[key].name for key in knot)
        yield Found(plan.steps[knot[0]], f"The flow leads in a circle that is not rework: {names}.")


@rule("flow.off_the_diagram", STEP_4, Severity.WARNS, remedy="Link the step to the one before and the one after it.")
def off_the_diagram(plan: Examined) -> Iterator[Found]:
    for key in flow.off_the_diagram(plan.document.flow):
        yield Found(plan.steps[key], f"“{plan.steps[key].name}” is not on the flow diagram.")


@rule(
    "flow.dead_end",
    STEP_4,
    Severity.WARNS,
    remedy="Link it on, or mark the step as dispatch or disposal if product or waste leaves there.",
)
def dead_end(plan: Examined) -> Iterator[Found]:
    ends = [step.key for step in plan.document.steps if step.kind in ENDING_STEPS]
    for key in flow.dead_ends(plan.document.flow, ends):
        if key in plan.links_of:
            yield Found(plan.steps[key], f"From “{plan.steps[key].name}” nothing leads to dispatch or disposal.")


@rule(
    "flow.unreached",
    STEP_4,
    Severity.WARNS,
    remedy="Link a step to it, or mark it as reception if something comes in there.",
)
def unreached(plan: Examined) -> Iterator[Found]:
    starts = [step.key for step in plan.document.steps if step.kind in STARTING_STEPS]
    lost = [key for key in flow.unreachable(plan.document.flow, starts) if key in plan.links_of]
    # The steps behind a lost one are lost with it: the first is the one to put right. In a ring each leads to the next.
    led_to = {link.end for link in plan.document.links if link.start in lost and link.start != link.end}
    for key in [key for key in lost if key not in led_to] or lost[:1]:
        yield Found(plan.steps[key], f"Nothing leads to “{plan.steps[key].name}” from any reception.")


@rule("flow.no_input", STEP_4, Severity.NOTES, remedy="Name the milk, ingredients or packaging that come in.")
def no_input(plan: Examined) -> Iterator[Found]:
    with_input = {material.step for material in plan.document.materials if material.direction == "in"}
    for step in plan.document.steps:
        if step.kind in STARTING_STEPS and step.key not in with_input:
            yield Found(step, f"It is not said what comes in at “{step.name}”.")


@rule("flow.unconfirmed", STEP_5, Severity.WARNS, remedy="Walk the process with the diagram in hand and confirm it.")
def unconfirmed(plan: Examined) -> Iterator[Found]:
    if plan.document.steps and plan.flow_sha256 not in plan.circumstances.confirmed_flows:
        yield Found(None, "The flow diagram has not been confirmed on site as it stands now.")
