"""What an evaluator is: one way in which evidence is laid against a limit."""

from collections.abc import Callable
from dataclasses import dataclass

from haccp.science.evidence import Evidence
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue, Verdict


@dataclass(frozen=True, slots=True)
class Evaluator:
    """name: key in EVALUATORS. title: for the plan's forms. schema: JSON Schema of Limit.parameters.

    comparators: those that this way of judging understands. quantities: likewise; None for all.
    version: changes whenever the same evidence could be ruled differently; kept with each ruling.
    looks_back: whether earlier readings of the same lot belong to its evidence.
    judge: pure; a defective limit raises InputError, defective evidence is UNPROVEN or BREACHED, never an error.
    """

    name: str
    title: str
    schema: dict[str, JsonValue]
    comparators: frozenset[Comparator]
    judge: Callable[[Limit, Evidence], Verdict]
    quantities: frozenset[str] | None = None
    version: str = "1"
    looks_back: bool = False


NUMERIC = frozenset({Comparator.AT_LEAST, Comparator.AT_MOST, Comparator.BETWEEN})


def number(limit: Limit, name: str) -> float | None:
    """A numeric parameter of a limit, None where it is not given."""
    value = limit.parameters.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"Parameter {name} is not a number: check_limit was not asked.")
    return float(value)
