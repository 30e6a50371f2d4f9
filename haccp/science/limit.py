"""A limit as data, free of any database: what is judged, against which value, in which way."""

from dataclasses import dataclass, field
from enum import StrEnum

from haccp.science.ruling import JsonValue


class Comparator(StrEnum):
    AT_LEAST = "at_least"
    AT_MOST = "at_most"
    BETWEEN = "between"
    ONE_OF = "one_of"  # answers; see accepted


@dataclass(frozen=True, slots=True)
class Limit:
    """quantity: key in the registry of quantities (units.QUANTITIES).
    low / high: SI; low for AT_LEAST, high for AT_MOST, both for BETWEEN. target_low / target_high warn before them.
    accepted: the answers that meet an ONE_OF limit.
    evaluator: name in evaluators.EVALUATORS; parameters: checked against that evaluator's JSON Schema.
    """

    quantity: str
    evaluator: str
    comparator: Comparator
    low: float | None = None
    high: float | None = None
    target_low: float | None = None
    target_high: float | None = None
    accepted: tuple[str, ...] = ()
    parameters: dict[str, JsonValue] = field(default_factory=dict)
    unit: str = ""  # the unit that sentences are written in; the quantity's SI unit when empty
