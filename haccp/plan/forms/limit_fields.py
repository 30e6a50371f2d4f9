"""The numbers of a limit as people type them: in the limit's own unit, and times as lengths of time."""

from collections.abc import Callable, Mapping
from typing import Any

from django import forms

from haccp.plan.document.parts import CriticalLimit, Part
from haccp.plan.forms.fields import DurationField, NumberField
from haccp.plan.forms.how_often import EVENTS
from haccp.plan.labels import choice_word
from haccp.science.errors import InputError
from haccp.science.evaluators import EVALUATORS
from haccp.science.units import QUANTITIES, from_si, to_si

BOUNDS = ("low", "high", "target_low", "target_high")
NAMES = (*BOUNDS, "quantity", "evaluator", "unit", "parameters")
UNITS = sorted({(symbol, symbol) for one in QUANTITIES.values() for symbol in one.units if symbol})
_BOUND_HELP = {
    "low": "In the unit above. For at least, and for between.",
    "high": "In the unit above. For at most, and for between.",
    "target_low": "A value that warns before the limit is reached.",
    "target_high": "A value that warns before the limit is reached.",
}
_LENGTHS = {
    "hold_s": ("Held for", "For a limit that is held without a break: such as 30 min."),
    "target_hold_s": ("Target of holding", "A longer time, to be on the safe side."),
    "within_s": ("Reached within", "For a limit that is reached within a time of an event: such as 6 h."),
    "target_within_s": ("Target of the time", "A shorter time, that warns."),
}
_OWN = (*_LENGTHS, "air_space_above_c", "from_event")


def fields(name: str, value: Callable[[str], Any]) -> dict[str, forms.Field]:
    """The fields for one attribute of a limit. value: what an attribute holds now."""
    if name in BOUNDS:
        label = {"low": "Lowest value", "high": "Highest value", "target_low": "Lowest target"}
        return {
            name: NumberField(
                label=label.get(name, "Highest target"), required=False, help_text=_BOUND_HELP[name],
                initial=_in_unit(value, name),
            )
        }  # fmt: skip
    if name == "quantity":
        choices = [(key, one.name) for key, one in QUANTITIES.items()]
        return {name: forms.ChoiceField(label="What is limited", choices=choices, initial=value(name))}
    if name == "unit":
        return {
            name: forms.ChoiceField(label="Unit", choices=[("", "none"), *UNITS], required=False, initial=value(name))
        }
    if name == "evaluator":
        ways = [(key, choice_word(key)) for key in EVALUATORS]
        return {name: forms.ChoiceField(label="How it is judged", choices=ways, initial=value(name) or "reading")}
    return _parameters(value("parameters") or {})


def _in_unit(value: Callable[[str], Any], name: str) -> float | None:
    held = value(name)
    if held is None:
        return None
    try:
        return round(from_si(value("quantity"), held, value("unit")), 9)
    except InputError:
        return float(held)


def _parameters(held: Mapping[str, Any]) -> dict[str, forms.Field]:
    made: dict[str, forms.Field] = {
        name: DurationField(label=label, help_text=help_text, required=False, initial=held.get(name))
        for name, (label, help_text) in _LENGTHS.items()
    }
    made["from_event"] = forms.ChoiceField(
        label="Counted from", required=False, choices=[("", "choose"), *EVENTS], initial=held.get("from_event", ""),
        help_text="For a limit that is reached within a time of an event.",
    )  # fmt: skip
    made["air_space_above_c"] = NumberField(
        label="Air above the milk warmer by, °C", required=False, initial=held.get("air_space_above_c"),
        help_text="For a vat: 2.8 where the law asks for 5 °F.",
    )  # fmt: skip
    return made


def read(typed: Mapping[str, Any], *, before: Part | None) -> dict[str, Any]:
    """Bounds in the stored unit and the parameters of the way of judging. ValidationError names the field."""
    found: dict[str, Any] = {}
    for name in BOUNDS:
        if name in typed:
            found[name] = _stored(typed, name)
    if "evaluator" in typed and "hold_s" in typed:
        found["parameters"] = _read_parameters(typed, before)
    return found


def _stored(typed: Mapping[str, Any], name: str) -> float | None:
    number = typed[name]
    if number is None:
        return None
    try:
        return round(to_si(typed["quantity"], number, typed["unit"]), 9)
    except InputError as error:
        raise forms.ValidationError({"unit": str(error)}) from None


def _read_parameters(typed: Mapping[str, Any], before: Part | None) -> dict[str, Any]:
    schema: Any = EVALUATORS[typed["evaluator"]].schema
    taken = schema["properties"]
    kept: dict[str, Any] = {}
    if isinstance(before, CriticalLimit) and before.evaluator == typed["evaluator"]:
        kept = {name: value for name, value in before.parameters.items() if name not in _OWN}
    for name in _OWN:
        value = typed[name]
        if value in (None, ""):
            continue
        if name not in taken:
            way = choice_word(typed["evaluator"])
            raise forms.ValidationError({name: f"A limit judged as “{way}” has no such value; leave it empty."})
        kept[name] = value
    return kept
