"""The ways of judging: a limit and evidence in, a verdict with its reason out."""

import math
from typing import Any

from jsonschema import Draft202012Validator, ValidationError

from haccp.science.errors import InputError
from haccp.science.evaluators import answer, elapsed, holding, reading
from haccp.science.evaluators.evaluator import Evaluator
from haccp.science.evidence import Evidence
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue, Verdict
from haccp.science.units import quantity_of, unit_of

__all__ = ["EVALUATORS", "Evaluator", "check_limit", "check_parameters", "judge"]

EVALUATORS: dict[str, Evaluator] = {
    module.EVALUATOR.name: module.EVALUATOR for module in (reading, answer, elapsed, holding)
}


# How a limit is judged, after "a limit that is", and what its parameters say, after "says".
WAYS = {
    "reading": "judged by each reading",
    "answer": "judged by an answer",
    "elapsed": "reached within a time of an event",
    "holding": "held for a time",
}
PARAMETERS = {
    "hold_s": "for how long it is held",
    "target_hold_s": "how long it is held to be on the safe side",
    "within_s": "within what time it is reached",
    "target_within_s": "within what time it is reached to be on the safe side",
    "from_event": "from which event the time is counted",
    "air_space_above_c": "how much warmer the air above the milk is",
    "max_gap_s": "how long a gap in the recording may be",
    "stuck_s": "how long the recorder may show the same",
}


def judge(limit: Limit, evidence: Evidence) -> Verdict:
    """What the limit says of the evidence. InputError when the limit itself is defective (see check_limit)."""
    check_limit(limit)
    return EVALUATORS[limit.evaluator].judge(limit, evidence)


def check_limit(limit: Limit) -> None:
    """Raises InputError, with a sentence for whoever writes the plan, for a limit that cannot be judged."""
    check_parameters(limit.evaluator, limit.parameters)
    unit_of(quantity_of(limit.quantity), limit.unit)
    quantities = EVALUATORS[limit.evaluator].quantities
    if quantities is not None and limit.quantity not in quantities:
        raise InputError(
            f"“{limit.evaluator}” cannot judge {quantity_of(limit.quantity).name}.",
            remedy=f"Choose a limit of {', '.join(sorted(quantities))}.",
        )
    if limit.comparator not in EVALUATORS[limit.evaluator].comparators:
        known = ", ".join(sorted(c.replace("_", " ") for c in EVALUATORS[limit.evaluator].comparators))
        raise InputError(
            f"“{limit.evaluator}” cannot judge “{limit.comparator.replace('_', ' ')}”.", remedy=f"Choose {known}."
        )
    if limit.comparator is Comparator.ONE_OF:
        if not limit.accepted:
            raise InputError("The limit accepts no answer.", remedy="Give at least one answer that meets it.")
        return
    _check_bounds(limit)


def _check_bounds(limit: Limit) -> None:
    wanted = {
        Comparator.AT_LEAST: (True, False),
        Comparator.AT_MOST: (False, True),
        Comparator.BETWEEN: (True, True),
    }[limit.comparator]
    for name, bound, is_wanted in (("low", limit.low, wanted[0]), ("high", limit.high, wanted[1])):
        if (bound is not None) != is_wanted or (bound is not None and not math.isfinite(bound)):
            end = "lowest" if name == "low" else "highest"
            said = f"A limit of “{limit.comparator.replace('_', ' ')}”"
            if not is_wanted:
                raise InputError(f"{said} has no {end} value.", remedy=f"Leave the {end} value out.")
            raise InputError(f"{said} needs a {end} value.", remedy=f"Give the {end} value as a number.")
    low = -math.inf if limit.low is None else limit.low
    high = math.inf if limit.high is None else limit.high
    if low > high:
        raise InputError("The lowest value is above the highest.", remedy="Exchange the two.")
    for target in (limit.target_low, limit.target_high):
        if target is not None and not low <= target <= high:
            raise InputError("The target lies outside the limit.", remedy="Set a target that warns before the limit.")


def check_parameters(name: str, parameters: dict[str, JsonValue]) -> None:
    """Raises InputError for an evaluator that does not exist, or parameters that its JSON Schema refuses."""
    if name not in EVALUATORS:
        raise InputError(f"There is no way of judging named “{name}”.", remedy=f"Use one of: {', '.join(EVALUATORS)}.")
    schema: dict[str, Any] = EVALUATORS[name].schema
    found = sorted(Draft202012Validator(schema).iter_errors(parameters), key=lambda e: list(map(str, e.path)))
    if found:
        raise _in_words(name, schema, parameters, found[0])
    _check_finite_and_ordered(name, parameters)


def _in_words(
    name: str, schema: dict[str, Any], parameters: dict[str, JsonValue], first: ValidationError
) -> InputError:
    """What the schema refuses, for whoever writes the plan: the people who fill in a form know no parameters."""
    way = WAYS[name]
    surplus = [key for key in parameters if key not in schema["properties"]]
    if surplus:
        takes = ", ".join(schema["properties"]) or "nothing"
        return InputError(f"A limit that is {way} does not take {', '.join(surplus)}.", remedy=f"It takes: {takes}.")
    for needed in schema.get("required", ()):
        if needed not in parameters:
            return InputError(f"A limit that is {way} says {PARAMETERS[needed]}.", remedy="Give it.")
    where = ".".join(map(str, first.path))
    said = PARAMETERS.get(where, where)
    return InputError(f"It is not said as it must be {said} ({where}): {first.message}.", remedy="Correct it.")


def _check_finite_and_ordered(name: str, parameters: dict[str, JsonValue]) -> None:
    for key, value in parameters.items():
        if isinstance(value, float) and not math.isfinite(value):
            raise InputError(f"“{name}”: {key} is not a number.", remedy="Give a finite number.")
    hold_s, target_s = parameters.get("hold_s"), parameters.get("target_hold_s")
    if isinstance(hold_s, int | float) and isinstance(target_s, int | float) and target_s < hold_s:
        raise InputError("The target holding time is shorter than the limit.", remedy="Set a longer target.")
    within_s, sooner_s = parameters.get("within_s"), parameters.get("target_within_s")
    if isinstance(within_s, int | float) and isinstance(sooner_s, int | float) and sooner_s > within_s:
        raise InputError("The target time is later than the limit.", remedy="Set an earlier target.")
