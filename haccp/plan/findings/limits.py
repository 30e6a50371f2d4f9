"""Step 8: the critical limits."""

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator

from haccp.plan.document.parts import CriticalLimit
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science.errors import InputError
from haccp.science.evaluators import check_limit
from haccp.science.evaluators.bounds import allowed
from haccp.science.limit import Comparator

STEP_8 = "CXC 1-1969 (2022), chapter two, step 8 (principle 3)"


@rule(
    "limit.unmonitored",
    STEP_8.replace("step 8 (principle 3)", "step 9 (principle 4)"),
    Severity.BLOCKS,
    remedy="Add a measure that is judged by it, or take it out.",
)
def unmonitored(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        if limit.key not in plan.watched:
            yield Found(limit, f"No check monitors “{limit.statement}”.")


@rule("limit.defective", STEP_8, Severity.BLOCKS, remedy="Correct the limit.")
def defective(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        try:
            check_limit(limit.as_limit())
        except InputError as error:
            yield Found(limit, f"“{limit.statement}” cannot be judged: {error.problem}", error.remedy)


@rule(
    "limit.no_source", STEP_8, Severity.WARNS, remedy="Name the document and clause, or add a validation of the limit."
)
def no_source(plan: Examined) -> Iterator[Found]:
    validated = {validation.limit for validation in plan.document.validations}
    for limit in plan.document.limits:
        point = plan.control_points.get(limit.control_point)
        if point and point.is_critical and not limit.source_document.strip() and limit.key not in validated:
            yield Found(limit, f"Nothing says on whose authority “{limit.statement}” stands.")


@rule("limit.no_target", STEP_8, Severity.NOTES, remedy="Set a target that warns before the limit is reached.")
def no_target(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        point = plan.control_points.get(limit.control_point)
        if point and point.is_critical and limit.comparator != Comparator.ONE_OF and not _has_target(limit):
            yield Found(limit, f"“{limit.statement}” has no target that warns before it.")


def _has_target(limit: CriticalLimit) -> bool:
    of_time = any(name in limit.parameters for name in ("target_hold_s", "target_within_s"))
    return of_time or limit.target_low is not None or limit.target_high is not None


@rule(
    "limit.contradictory", STEP_8, Severity.BLOCKS, remedy="Correct one of the two, or say for which products each is."
)
def contradictory(plan: Examined) -> Iterator[Found]:
    """Two limits of one control point, judged the same way, that no value can meet together."""
    for one, other in contradictions(plan.document.limits):
        yield Found(
            other,
            f"“{one.statement}” ({_allowed(one)}) and “{other.statement}” ({_allowed(other)}) cannot both be met.",
        )


def contradictions(limits: tuple[CriticalLimit, ...]) -> Iterator[tuple[CriticalLimit, CriticalLimit]]:
    """Pairs that exclude each other: same control point, quantity, evaluator, parameters; products in common."""
    groups: dict[tuple[str, ...], list[CriticalLimit]] = defaultdict(list)
    for limit in limits:
        groups[(limit.control_point, limit.quantity, limit.evaluator, repr(sorted(limit.parameters.items())))].append(
            limit
        )
    for group in groups.values():
        for one, other in itertools.combinations(group, 2):
            if _share_products(one, other) and _exclude(one, other):
                yield one, other


def _share_products(one: CriticalLimit, other: CriticalLimit) -> bool:
    return not one.products or not other.products or bool(set(one.products) & set(other.products))


def _exclude(one: CriticalLimit, other: CriticalLimit) -> bool:
    """Answers are left out: several questions of one check may each have accepted answers of their own."""
    if Comparator.ONE_OF in (one.comparator, other.comparator):
        return False
    lowest = max(_end(one.low, -math.inf), _end(other.low, -math.inf))
    highest = min(_end(one.high, math.inf), _end(other.high, math.inf))
    return lowest > highest


def _end(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _allowed(limit: CriticalLimit) -> str:
    return allowed(limit.as_limit())
