"""The plan as one JSON file, by the schema in fixtures/schemas/plan-1.json."""

import dataclasses
import json
from collections.abc import Callable, Mapping
from typing import Any

from jsonschema import Draft202012Validator

from haccp.plan.document import shape
from haccp.plan.document.document import KIND_WORDS, KINDS, PlaceNamed, PlanDocument, ProductNamed
from haccp.science.errors import InputError

SCHEMA_VERSION = 1
MOST_BYTES = 10 * 1024 * 1024
MOST_PARTS = 20_000
_HEADER = tuple(name for name in shape.specs_of(PlanDocument))
_NAMED: dict[str, type] = {"products": ProductNamed, "places": PlaceNamed}
_LISTS: dict[str, type] = {**_NAMED, **KINDS}


def schema() -> dict[str, Any]:
    """The published JSON Schema of a plan file."""
    header = shape.schema_of(PlanDocument)["properties"]
    lists = {
        name: {
            "type": "array",
            "maxItems": MOST_PARTS,
            "description": f"Each a {KIND_WORDS.get(name, name.removesuffix('s'))}.",
            "items": {"$ref": f"#/$defs/{name}"},
        }
        for name in _LISTS
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Food-safety plan",
        "description": (
            "One revision of a food-safety plan. Parts refer to one another by key, to products by code and to "
            "places by name. Temperatures are in °C, times in s, shares in g per 100 g; limits are in the stored unit "
            "of their quantity, whatever unit they are shown in."
        ),
        "type": "object",
        "properties": {"schema_version": {"const": SCHEMA_VERSION}, **header, **lists},
        "required": ["schema_version", *header, *lists],
        "additionalProperties": False,
        "$defs": {name: shape.schema_of(kind) for name, kind in _LISTS.items()},
    }


def as_json(document: PlanDocument) -> dict[str, Any]:
    """The whole plan as JSON values: what is exported, and what an approval signs."""
    return {
        "schema_version": SCHEMA_VERSION,
        **shape.to_json(document),
        **{name: [shape.to_json(part) for part in getattr(document, name)] for name in _LISTS},
    }


def write_file(document: PlanDocument) -> bytes:
    """UTF-8, indented; the same plan always gives the same bytes."""
    return (json.dumps(as_json(document), ensure_ascii=False, indent=1) + "\n").encode("utf-8")


def read_file(content: bytes) -> PlanDocument:
    """The plan of a file. InputError says where the file is wrong; what its parts mean is checked in validity."""
    if len(content) > MOST_BYTES:
        raise InputError(
            f"The file has {len(content) / 1024**2:.1f} MB; a plan has at most {MOST_BYTES // 1024**2} MB.",
            remedy="Take long texts out and keep them as documents of their own.",
        )
    given = _parsed(content)
    _refuse_other_version(given.get("schema_version"))
    problem = next(iter(sorted(_validator().iter_errors(given), key=lambda e: list(map(str, e.absolute_path)))), None)
    if problem is not None:
        raise _as_sentence(problem)
    try:
        lists: Any = {name: tuple(shape.from_json(kind, row) for row in given[name]) for name, kind in _LISTS.items()}
        return dataclasses.replace(shape.from_json(PlanDocument, given), **lists).in_reading_order()
    except ValueError as error:  # a day such as 2026-02-30
        raise InputError(
            f"A date in the file is no day of the calendar: {error}.", remedy="Correct the date."
        ) from None


def _parsed(content: bytes) -> Mapping[str, Any]:
    try:
        given = json.loads(content.decode("utf-8-sig"), parse_constant=_refuse_constant, object_pairs_hook=_once)
    except UnicodeDecodeError:
        raise InputError("The file is not UTF-8 text.", remedy="Choose a plan that was exported as JSON.") from None
    except json.JSONDecodeError as error:
        raise InputError(
            f"The file is not JSON: {error.msg}.", remedy="Choose a plan that was exported as JSON.", line=error.lineno
        ) from None
    except RecursionError:
        raise InputError("The file is nested too deeply.", remedy="Choose a plan that was exported as JSON.") from None
    if not isinstance(given, dict):
        raise InputError("The file holds no plan.", remedy="Choose a plan that was exported as JSON.")
    return given


def _refuse_constant(name: str) -> None:
    raise InputError(f"The file holds {name}, which is not a number.", remedy="Give a number, or null.")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise InputError(f"“{twice}” stands twice in one object of the file.", remedy="Leave one of them out.")
    return made


def _refuse_other_version(version: object) -> None:
    if isinstance(version, bool) or not isinstance(version, int):
        raise InputError("The file does not say its schema_version.", remedy="Choose a plan that was exported as JSON.")
    if version > SCHEMA_VERSION:
        raise InputError(
            f"The file follows schema {version}, which is newer than this service knows ({SCHEMA_VERSION}).",
            remedy="Bring the service up to date, or export the plan for an older schema.",
        )
    if version < SCHEMA_VERSION:
        raise InputError(f"There is no schema {version}.", remedy=f"Plans follow schema {SCHEMA_VERSION}.")


_validators: dict[int, Draft202012Validator] = {}


def _validator() -> Draft202012Validator:
    return _validators.setdefault(SCHEMA_VERSION, Draft202012Validator(schema()))


def _as_sentence(error: Any) -> InputError:
    where = _place(list(error.absolute_path))
    problem, remedy = _SENTENCES.get(error.validator, _other)(error)
    return InputError(f"{where}{problem}", remedy=remedy)


def _missing(error: Any) -> tuple[str, str]:
    missing = next(name for name in error.validator_value if name not in error.instance)
    return f"“{missing}” is missing.", "Add it; null or an empty list will do."


def _surplus(error: Any) -> tuple[str, str]:
    surplus = sorted(set(error.instance) - set(error.schema["properties"]))[0]
    return f"“{surplus[:60]}” is not known.", "Leave it out."


def _choice(error: Any) -> tuple[str, str]:
    known = ", ".join(f"“{option}”" for option in error.validator_value)
    return f"“{str(error.instance)[:60]}” is none of the choices.", f"Choose {known}."


def _type(error: Any) -> tuple[str, str]:
    wanted = error.validator_value
    return f"This is no {' or '.join(wanted) if isinstance(wanted, list) else wanted}.", "Correct the value."


def _other(error: Any) -> tuple[str, str]:
    return f"{error.message[:200]}.", "Correct the file by its JSON Schema."


_SENTENCES: dict[str, Callable[[Any], tuple[str, str]]] = {
    "required": _missing,
    "additionalProperties": _surplus,
    "enum": _choice,
    "type": _type,
    "maxLength": lambda error: (f"The text is longer than {error.validator_value} characters.", "Shorten it."),
    "minLength": lambda error: ("The text is empty.", "Fill it in."),
    "minimum": lambda error: (f"{error.instance} is below {error.validator_value}.", "Give a higher value."),
    "maximum": lambda error: (f"{error.instance} is above {error.validator_value}.", "Give a lower value."),
    "maxItems": lambda error: (f"There are more than {error.validator_value} entries.", "Take some out."),
    "pattern": lambda error: (
        f"“{str(error.instance)[:60]}” is not written as it must be.",
        f"It must match {error.validator_value}.",
    ),
}


def _place(path: list[Any]) -> str:
    """ "limits, 3rd entry, “unit”: " from ["limits", 2, "unit"]."""
    words: list[str] = []
    for step in path:
        words.append(f"entry {step + 1}" if isinstance(step, int) else str(step) if not words else f"“{step}”")
    return f"{', '.join(words)}: " if words else ""
