"""Step 6: the hazards, their weight, and what controls them."""

from collections.abc import Iterator

from haccp.plan.document.parts import Hazard
from haccp.plan.document.vocabulary import HAZARD_KINDS, RISK_AXES
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule

STEP_6 = "CXC 1-1969 (2022), chapter two, step 6 (principle 1)"
RAW_MILK = "CXC 57-2004, Annex II; hazards of raw milk as published guides name them"
# What each is called in a hazard's name or agent.
RAW_MILK_AGENTS = {
    "Listeria monocytogenes": ("listeria",),
    "Salmonella": ("salmonella",),
    "STEC": ("stec", "shiga", "escherichia", "e. coli"),
    "Staphylococcus aureus": ("staphylococc", "s. aureus"),
}


@rule(
    "hazard.step_not_analysed", STEP_6, Severity.WARNS, remedy="List its hazards, or one line that says there is none."
)
def step_not_analysed(plan: Examined) -> Iterator[Found]:
    for step in plan.document.steps:
        if step.key not in plan.hazards_at:
            yield Found(step, f"No hazard is considered at “{step.name}”.")


@rule("hazard.kind_not_considered", STEP_6, Severity.WARNS, remedy="Consider that kind at each step.")
def kind_not_considered(plan: Examined) -> Iterator[Found]:
    if not plan.document.hazards:
        return
    considered = {hazard.kind for hazard in plan.document.hazards}
    for kind, words in HAZARD_KINDS.items():
        if kind not in considered:
            yield Found(None, f"No {words} hazard is considered anywhere.")


@rule(
    "hazard.uncontrolled",
    STEP_6,
    Severity.BLOCKS,
    remedy="Say what controls it, and at which step or by which programme.",
)
def uncontrolled(plan: Examined) -> Iterator[Found]:
    for hazard in plan.significant:
        if not _is_controlled(plan, hazard) and not hazard.control_measure.strip():
            yield Found(hazard, f"“{hazard.name}” is significant and nothing controls it.")


@rule(
    "hazard.control_in_words_only",
    STEP_6,
    Severity.WARNS,
    remedy="Name the step, control point or programme that does it.",
)
def control_in_words_only(plan: Examined) -> Iterator[Found]:
    for hazard in plan.significant:
        if hazard.control_measure.strip() and not _is_controlled(plan, hazard):
            yield Found(hazard, f"What controls “{hazard.name}” is told in words, but no step or programme is named.")


@rule("hazard.measure_nowhere", STEP_6, Severity.WARNS, remedy="Choose the step, control point or programme.")
def measure_nowhere(plan: Examined) -> Iterator[Found]:
    for measure in plan.document.control_measures:
        if measure.step is None and measure.control_point is None:
            yield Found(measure, f"It is not said where “{measure.description}” is done.")


def _is_controlled(plan: Examined, hazard: Hazard) -> bool:
    return hazard.key in plan.points_of_hazard or hazard.key in plan.measures_of_hazard


@rule("hazard.unjustified", STEP_6, Severity.BLOCKS, remedy="Say why it is significant, or why it is not.")
def unjustified(plan: Examined) -> Iterator[Found]:
    for hazard in plan.document.hazards:
        if not hazard.justification.strip():
            yield Found(hazard, f"The judgement of “{hazard.name}” has no justification.")


@rule("risk.no_scale", STEP_6, Severity.WARNS, remedy="Define levels of likelihood and of severity in your own words.")
def no_scale(plan: Examined) -> Iterator[Found]:
    defined = {level.axis for level in plan.document.risk_levels}
    for axis, words in RISK_AXES.items():
        if axis not in defined and plan.document.hazards:
            yield Found(None, f"The scale of {words} is not defined.")


@rule("risk.no_threshold", STEP_6, Severity.WARNS, remedy="Say from which product of ranks a hazard is significant.")
def no_threshold(plan: Examined) -> Iterator[Found]:
    if plan.document.risk_levels and plan.document.significant_from is None:
        yield Found(None, "It is not said from which risk on a hazard is significant.")


@rule("risk.off_the_scale", STEP_6, Severity.WARNS, remedy="Choose a rank of the scale, or add the rank to it.")
def off_the_scale(plan: Examined) -> Iterator[Found]:
    ranks: dict[str, set[int]] = {axis: set() for axis in RISK_AXES}
    for level in plan.document.risk_levels:
        ranks[level.axis].add(level.rank)
    for hazard in plan.document.hazards:
        for axis, rank in (("likelihood", hazard.likelihood), ("severity", hazard.severity)):
            if ranks[axis] and rank not in ranks[axis]:
                yield Found(hazard, f"The {axis} of “{hazard.name}”, {rank}, is not on the scale.")


def significant_by_scale(
    likelihood: int, severity: int, significant_from: int | None, always: int | None
) -> bool | None:
    """What the producer's own threshold says; None where there is none."""
    if significant_from is None:
        return None
    return likelihood * severity >= significant_from or (always is not None and severity >= always)


@rule("risk.judged_lighter", STEP_6, Severity.WARNS, remedy="Mark it significant, or change its ranks with a reason.")
def judged_lighter(plan: Examined) -> Iterator[Found]:
    threshold, always = plan.document.significant_from, plan.document.always_significant_severity
    for hazard in plan.document.hazards:
        says = significant_by_scale(hazard.likelihood, hazard.severity, threshold, always)
        if says and not hazard.significant:
            risk = f"{hazard.likelihood} × {hazard.severity} = {hazard.likelihood * hazard.severity}"
            yield Found(hazard, f"“{hazard.name}” is judged not significant, though the scale says it is ({risk}).")


@rule(
    "hazard.brucella",
    RAW_MILK,
    Severity.BLOCKS,
    remedy="Add the hazard Brucella at milk reception; say whether the flock is officially free of it.",
)
def brucella(plan: Examined) -> Iterator[Found]:
    if plan.is_considered("brucella"):
        return
    for product in plan.document.products:
        if product.species in ("goat", "ewe"):
            yield Found(
                plan.descriptions.get(product.code),
                f"{product.name} is of {product.species}'s milk, and Brucella is never considered.",
            )


@rule("hazard.raw_milk", RAW_MILK, Severity.WARNS, remedy="Add the hazard, significant or not, with its justification.")
def raw_milk(plan: Examined) -> Iterator[Found]:
    for product in plan.document.products:
        missing = [name for name, words in RAW_MILK_AGENTS.items() if not plan.is_considered(*words)]
        if product.treatment in ("raw", "thermised") and missing:
            yield Found(
                plan.descriptions.get(product.code),
                f"{product.name} is of {product.treatment} milk, and these are never considered: {', '.join(missing)}.",
            )
