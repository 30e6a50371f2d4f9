"""A plan with what the rules look up again and again, each worked out once."""

from collections.abc import Iterable
from functools import cached_property
from typing import TypeVar

from haccp.plan.document import PlanDocument, ProductNamed
from haccp.plan.document.fingerprint import flow_sha256
from haccp.plan.document.parts import (
    Check,
    ControlMeasure,
    ControlPoint,
    CriticalLimit,
    DecisionAnswers,
    Hazard,
    Link,
    Measure,
    ProductDescription,
    Step,
    Validation,
    Verification,
)
from haccp.plan.findings.circumstances import Circumstances

V = TypeVar("V")


class Examined:
    """Every lookup is a dictionary built in one pass, so that a rule over n parts costs n."""

    def __init__(self, document: PlanDocument, circumstances: Circumstances) -> None:
        self.document, self.circumstances = document, circumstances

    @cached_property
    def products(self) -> dict[str, ProductNamed]:
        return {product.code: product for product in self.document.products}

    @cached_property
    def descriptions(self) -> dict[str, ProductDescription]:
        return {description.product: description for description in self.document.descriptions}

    @cached_property
    def steps(self) -> dict[str, Step]:
        return {step.key: step for step in self.document.steps}

    @cached_property
    def hazards(self) -> dict[str, Hazard]:
        return {hazard.key: hazard for hazard in self.document.hazards}

    @cached_property
    def hazards_at(self) -> dict[str, list[Hazard]]:
        return _grouped((hazard.step, hazard) for hazard in self.document.hazards)

    @cached_property
    def significant(self) -> list[Hazard]:
        return [hazard for hazard in self.document.hazards if hazard.significant]

    @cached_property
    def critical(self) -> list[ControlPoint]:
        return [point for point in self.document.control_points if point.is_critical]

    @cached_property
    def programmes(self) -> list[ControlPoint]:
        return [point for point in self.document.control_points if not point.is_critical]

    @cached_property
    def control_points(self) -> dict[str, ControlPoint]:
        return {point.key: point for point in self.document.control_points}

    @cached_property
    def points_of_hazard(self) -> dict[str, list[ControlPoint]]:
        return _grouped((hazard, point) for point in self.document.control_points for hazard in point.hazards)

    @cached_property
    def measures_of_hazard(self) -> dict[str, list[ControlMeasure]]:
        return _grouped((measure.hazard, measure) for measure in self.document.control_measures)

    @cached_property
    def decisions_of_hazard(self) -> dict[str, list[DecisionAnswers]]:
        return _grouped((decision.hazard, decision) for decision in self.document.decisions)

    @cached_property
    def limits_of(self) -> dict[str, list[CriticalLimit]]:
        """By control point."""
        return _grouped((limit.control_point, limit) for limit in self.document.limits)

    @cached_property
    def limits(self) -> dict[str, CriticalLimit]:
        return {limit.key: limit for limit in self.document.limits}

    @cached_property
    def checks_of(self) -> dict[str, list[Check]]:
        """By control point."""
        return _grouped((check.control_point, check) for check in self.document.checks)

    @cached_property
    def measures_at(self) -> dict[str, list[Measure]]:
        """By check."""
        return _grouped((measure.check, measure) for measure in self.document.measures)

    @cached_property
    def watched(self) -> set[str]:
        """Keys of the limits that some measure is judged by."""
        return {limit for measure in self.document.measures for limit in measure.limits}

    @cached_property
    def checks_watching(self) -> dict[str, list[Check]]:
        """By limit: the checks at which something is judged by it."""
        checks = {check.key: check for check in self.document.checks}
        return _grouped(
            (limit, checks[measure.check])
            for measure in self.document.measures
            for limit in measure.limits
            if measure.check in checks
        )

    @cached_property
    def validations_of(self) -> dict[str, list[Validation]]:
        return _grouped((validation.control_point, validation) for validation in self.document.validations)

    @cached_property
    def verifications_of(self) -> dict[str, list[Verification]]:
        return _grouped((row.control_point, row) for row in self.document.verifications if row.control_point)

    @cached_property
    def links_of(self) -> dict[str, list[Link]]:
        """By either end."""
        return _grouped((end, link) for link in self.document.links for end in {link.start, link.end})

    @cached_property
    def flow_sha256(self) -> str:
        return flow_sha256(self.document)

    def covered(self, limit: CriticalLimit) -> list[ProductNamed]:
        """The products that a limit speaks of; all where it names none."""
        if not limit.products:
            return list(self.document.products)
        return [self.products[code] for code in limit.products if code in self.products]

    @cached_property
    def limits_covering(self) -> dict[str, list[CriticalLimit]]:
        """By product code."""
        return _grouped((product.code, limit) for limit in self.document.limits for product in self.covered(limit))

    def is_considered(self, *names: str) -> bool:
        """Whether some hazard of the plan names one of these, as its agent or in words."""
        return any(name in text for text in self._hazard_texts for name in names)

    @cached_property
    def _hazard_texts(self) -> list[str]:
        return [f"{hazard.agent.replace('_', ' ')} {hazard.name}".lower() for hazard in self.document.hazards]


def _grouped(pairs: Iterable[tuple[str, V]]) -> dict[str, list[V]]:
    found: dict[str, list[V]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found
