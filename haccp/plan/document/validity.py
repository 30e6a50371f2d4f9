"""What no plan may hold, draft or not: a part that could not be stored, judged or scheduled.

What a plan may hold while it is written, and not when it is approved, is a finding (see haccp.plan.findings).
"""

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from haccp.plan.document.document import KIND_WORDS, PlanDocument, kind_name
from haccp.plan.document.parts import (
    Check,
    CriticalLimit,
    DecisionAnswers,
    Link,
    Measure,
    Part,
    ProductDescription,
    Verification,
)
from haccp.plan.document.shape import Form, Spec, is_single, specs_of
from haccp.science.errors import InputError
from haccp.science.evaluators import check_limit
from haccp.science.limit import Comparator
from haccp.science.schedule import check_cadence
from haccp.science.units import check_plausible, quantity_of, unit_of


@dataclass(frozen=True, slots=True)
class Problem:
    """field: name of the field that it concerns, "" for the part as a whole. sentence: what is wrong, what to do."""

    key: str
    field: str
    sentence: str


def problems_of(part: Part, document: PlanDocument) -> list[Problem]:
    """What is wrong with one part of a document that holds it. Empty when it may be stored."""
    wrong = [
        Problem(part.key, name, sentence)
        for name, spec in specs_of(type(part)).items()
        if (sentence := _wrong_value(part, name, spec, document))
    ]
    if wrong:
        return wrong
    return [Problem(part.key, field, sentence) for field, sentence in _meaning(part, document)]


def problems_in(document: PlanDocument) -> list[Problem]:
    """As problems_of, of every part, and what must not be there twice."""
    found = [problem for _, part in document.parts() for problem in problems_of(part, document)]
    return [*found, *_twice(document)]


def in_words(problem: Problem, document: PlanDocument) -> str:
    """The sentence with the part that it concerns."""
    part = document.by_key.get(problem.key)
    if part is None:
        return problem.sentence
    return f"{KIND_WORDS[kind_name(part)].capitalize()} “{part.title[:80]}”: {problem.sentence}"


# --- One value ---


def _wrong_value(part: Part, name: str, spec: Spec, document: PlanDocument) -> str:
    value = getattr(part, name)
    if value is None:
        return "" if spec.optional else f"Give the {spec.words}."
    return _BY_FORM[spec.form](value, spec, document, type(part), name)


def _text(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    if not isinstance(value, str):
        return f"The {spec.words} is text."
    if not spec.optional and not value.strip():
        return f"Give the {spec.words}."
    if len(value) > spec.most:
        return f"The {spec.words} has {len(value)} characters; shorten it to {spec.most}."
    return _unstorable(value, spec)


def _unstorable(value: str, spec: Spec) -> str:
    if "\x00" in value or any("\ud800" <= character <= "\udfff" for character in value):
        return f"The {spec.words} holds a character that cannot be stored; type it again."
    return ""


def _choice(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    if value in spec.options:
        return ""
    return f"“{value}” is no {spec.words}; choose one of {', '.join(option or 'none' for option in spec.options)}."


def _number(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    whole = spec.form is Form.WHOLE
    if isinstance(value, bool) or not isinstance(value, int if whole else int | float) or not math.isfinite(value):
        return f"The {spec.words} is a {'whole ' if whole else ''}number."
    if not spec.low <= value <= spec.high:
        return f"The {spec.words} is {value:g}; give one between {spec.low:g} and {spec.high:g}."
    return ""


def _flag(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    return "" if isinstance(value, bool) else f"Say yes or no to “{spec.words}”."


def _day(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    return "" if isinstance(value, dt.date) else f"The {spec.words} is a day such as 2026-01-31."


def _texts(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    for item in value:
        if not isinstance(item, str) or not 0 < len(item) <= spec.most:
            return f"Each of the {spec.words} has 1 to {spec.most} characters."
        if problem := _unstorable(item, spec):
            return problem
    return f"The {spec.words} name the same twice." if len(set(value)) < len(value) else ""


def _data(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    if not isinstance(value, Mapping):
        return f"The {spec.words} are given as names with values."
    return _unstorable(repr(value), spec) if any(isinstance(item, str) for item in value.values()) else ""


def _key(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    return ""


def _part(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    found = document.kind_of.get(value)
    if found is None:
        return f"The {spec.words} is not in this plan; choose one that is."
    if spec.target and found != spec.target:
        return f"The {spec.words} must be a {KIND_WORDS[spec.target]}, not a {KIND_WORDS[found]}."
    return ""


def _parts(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    if len(set(value)) < len(value):
        return f"The {spec.words} name the same twice."
    return next(filter(None, (_part(item, spec, document, kind, name) for item in value)), "")


def _products(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    codes = [value] if is_single(kind, name) else list(value)
    known = {product.code for product in document.products}
    unknown = [code for code in codes if code not in known]
    if unknown:
        return f"There is no product “{unknown[0]}”; add it first."
    return f"The {spec.words} name the same twice." if len(set(codes)) < len(codes) else ""


def _place(value: Any, spec: Spec, document: PlanDocument, kind: type, name: str) -> str:
    known = {place.name for place in document.places}
    return "" if value in known else f"There is no place “{value}”; add it first."


_BY_FORM: dict[Form, Callable[[Any, Spec, PlanDocument, type, str], str]] = {
    Form.TEXT: _text,
    Form.CHOICE: _choice,
    Form.WHOLE: _number,
    Form.NUMBER: _number,
    Form.FLAG: _flag,
    Form.DAY: _day,
    Form.TEXTS: _texts,
    Form.DATA: _data,
    Form.KEY: _key,
    Form.PART: _part,
    Form.PARTS: _parts,
    Form.PRODUCTS: _products,
    Form.PLACE: _place,
}


# --- What values mean together ---


def _implausible(limit: CriticalLimit) -> Iterator[tuple[str, str]]:
    """Bounds that no reading could ever reach: a slip of the hand, or another unit."""
    for name in ("low", "high", "target_low", "target_high"):
        bound = getattr(limit, name)
        if bound is not None:
            try:
                check_plausible(limit.quantity, bound, limit.unit)
            except InputError as error:
                yield name, str(error)


def _meaning(part: Part, document: PlanDocument) -> Iterator[tuple[str, str]]:
    try:
        match part:
            case CriticalLimit():
                check_limit(part.as_limit())
                yield from _implausible(part)
            case Check():
                check_cadence(part.cadence)
                yield from _due_for(part)
            case Verification():
                check_cadence(part.cadence)
            case DecisionAnswers():
                yield from _answers(part)
            case Measure():
                yield from _measure(part, document)
            case Link() if part.start == part.end:
                yield "end", "A way leads from one step to another; choose another step for its end."
            case ProductDescription():
                yield from _acidity(part)
    except InputError as error:
        yield _FIELD_OF_ERROR.get(type(part), ""), str(error)


_FIELD_OF_ERROR: dict[type, str] = {
    Check: "cadence",
    Verification: "cadence",
    DecisionAnswers: "answers",
    Measure: "unit",
}


def _due_for(part: Check) -> Iterator[tuple[str, str]]:
    """What a cadence counts must be what the check is about."""
    kind = part.cadence["kind"]
    if part.subject == "place" and part.place is None:
        yield "place", "Name the place that the check looks at."
    if kind == "use" and part.subject != "place":
        yield "subject", "A check by use is of the place or piece of equipment that is used; choose one place."
    if kind == "before_release" and part.subject != "batch":
        yield "subject", "What is checked before release is a batch; choose each batch."


def _acidity(part: ProductDescription) -> Iterator[tuple[str, str]]:
    if part.ph_low is not None and part.ph_high is not None and part.ph_low > part.ph_high:
        yield "ph_low", "The lowest pH is above the highest; exchange the two."


def _answers(part: DecisionAnswers) -> Iterator[tuple[str, str]]:
    if not all(isinstance(answer, bool) for answer in part.answers.values()):
        yield "answers", "Each answer is yes or no."
    else:
        part.determination  # noqa: B018  raises InputError


def _measure(part: Measure, document: PlanDocument) -> Iterator[tuple[str, str]]:
    """A measure has the quantity of its limits, and a unit of that quantity."""
    if part.quantity:
        unit_of(quantity_of(part.quantity), part.unit)
    if part.limits and part.kind in ("photo", "scan"):
        yield "limits", "A photograph or a code is kept as it is; no limit judges it."
        return
    if part.kind == "scan" and document.by_key[part.check].subject not in ("place", "batch"):  # type: ignore[union-attr]
        yield "kind", "A code is scanned of a place or a batch; make the check one of those."
    for key in part.limits:
        limit = document.by_key[key]
        assert isinstance(limit, CriticalLimit)
        if limit.comparator == Comparator.ONE_OF:
            if part.kind != "answer":
                yield "kind", f"“{limit.statement}” is a limit of answers; make this measure a choice of answers."
        elif part.quantity and part.quantity != limit.quantity:
            yield (
                "quantity",
                f"It measures {quantity_of(part.quantity).name}, but “{limit.statement}” limits "
                f"{quantity_of(limit.quantity).name}; choose one quantity for both.",
            )


# --- What must not be there twice ---

_UNIQUE: dict[str, tuple[tuple[str, ...], str]] = {
    "steps": (("position",), "position"),
    "control_points": (("code",), "code"),
    "descriptions": (("product",), "product"),
    "risk_levels": (("axis", "rank"), "rank"),
    "measures": (("check", "position"), "position"),
    "links": (("start", "end", "kind"), "link"),
    "decisions": (("hazard", "step"), "hazard and step"),
}


def _twice(document: PlanDocument) -> Iterator[Problem]:
    counted = Counter(part.key for _, part in document.parts())
    for key, number in counted.items():
        if number > 1:
            yield Problem(key, "key", "Two parts have the same key; give each a key of its own.")
    for kind in _UNIQUE:
        groups: dict[tuple[Any, ...], list[Part]] = defaultdict(list)
        for part in getattr(document, kind):
            groups[identity(part)].append(part)
        for group in groups.values():
            for part in group[1:]:
                yield Problem(part.key, _UNIQUE[kind][0][-1], _taken(kind))
    for name, words in (("products", "code"), ("places", "name")):
        values = [getattr(row, words) for row in getattr(document, name)]
        for value, number in Counter(values).items():
            if number > 1:
                yield Problem("", words, f"The {words} “{value}” stands twice among the {name}; leave one out.")


def _taken(kind: str) -> str:
    return f"There is already a {KIND_WORDS[kind]} with this {_UNIQUE[kind][1]}; change one of the two."


def identity(part: Part) -> tuple[Any, ...]:
    """What no other part of its kind may share; () where there is no such thing."""
    fields = _UNIQUE.get(kind_name(part), ((), ""))[0]
    return tuple(getattr(part, name) for name in fields)


def clash(part: Part, document: PlanDocument) -> Problem | None:
    """Another part with the identity of this one."""
    kind = kind_name(part)
    if kind not in _UNIQUE:
        return None
    for other in getattr(document, kind):
        if other.key != part.key and identity(other) == identity(part):
            return Problem(part.key, _UNIQUE[kind][0][-1], _taken(kind))
    return None
