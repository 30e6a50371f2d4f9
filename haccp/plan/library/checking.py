"""Cross-checks of a library: references, units, limits, cadences, and that nothing is claimed to be better known
than its document.
"""

import math
from collections.abc import Callable, Iterable, Iterator

from haccp.plan.library.conditions import InRange, OneOf, When
from haccp.plan.library.entries import (
    CheckEntry,
    ControlEntry,
    Document,
    Family,
    HazardEntry,
    Known,
    LimitChoice,
    Part,
    Question,
    Sampling,
    Source,
    StepEntry,
    Table,
    Value,
)
from haccp.plan.library.library import Library
from haccp.plan.library.periods import longest_s
from haccp.science.errors import InputError
from haccp.science.evaluators import check_limit
from haccp.science.schedule import check_cadence
from haccp.science.units import quantity_of, to_si, unit_of

Problem = tuple[str, str, str]  # entry, problem, remedy

_BEST_FIRST = (Known.READ, Known.SECONDARY, Known.MEMORY)
NEEDED_QUESTIONS = ("jurisdiction", "species", "treatment", "family")


def problems(library: Library) -> Iterator[tuple[str, Problem]]:
    """(section, problem) for everything that does not fit together."""
    checks: tuple[tuple[str, Iterable[object], Callable[..., Iterator[Problem]]], ...] = (
        ("documents", library.documents.values(), _document),
        ("values", library.values.values(), _value),
        ("hazards", library.hazards.values(), _hazard),
        ("steps", library.steps.values(), _step),
        ("controls", library.controls.values(), _control),
        ("families", library.families.values(), _family),
        ("questions", library.questions.values(), _question),
    )
    for section, entries, check in checks:
        for entry in entries:
            for problem in check(library, entry):
                yield section, problem
    for name in NEEDED_QUESTIONS:
        if name not in library.questions:
            yield "questions", (name, f"The question “{name}” is missing.", "Every draft needs it: add it.")


def _document(library: Library, entry: Document) -> Iterator[Problem]:
    if entry.superseded_by and entry.superseded_by not in library.documents:
        yield _missing(entry.id, "document", entry.superseded_by)


def _value(library: Library, entry: Value) -> Iterator[Problem]:
    document = library.documents.get(entry.document)
    if document is None:
        yield _missing(entry.id, "document", entry.document)
    elif _BEST_FIRST.index(entry.known) < _BEST_FIRST.index(document.known):
        yield (
            entry.id,
            f"It is marked “{entry.known}”, but its document is known only “{document.known}”.",
            "Mark it as its document is, or say in the document how more of it came to be read.",
        )
    yield from _succession(library, entry)
    for part in entry.parts:
        yield from _part(entry.id, part)
    if entry.sampling:
        yield from _sampling(entry.id, entry.sampling)
    if entry.table:
        yield from _table(entry.id, entry.table)
    for ready in entry.limits:
        try:
            check_limit(ready.limit)
        except InputError as error:
            yield entry.id, f"Limit “{ready.key}”: {error.problem}", error.remedy
    yield from _families(library, entry.id, entry.families)
    yield from _when(library, entry.id, entry.when)


def _succession(library: Library, entry: Value) -> Iterator[Problem]:
    if entry.superseded_by and entry.superseded_by not in library.values:
        yield _missing(entry.id, "value", entry.superseded_by)
    if entry.superseded_by and entry.effective_to is None:
        yield entry.id, "It is superseded, but nothing says since when.", "Give effective_to, the last day it held."
    if entry.effective_from and entry.effective_to and entry.effective_to < entry.effective_from:
        yield entry.id, "It ends before it begins.", "Exchange effective_from and effective_to."


def _part(entry: str, part: Part) -> Iterator[Problem]:
    try:
        quantity = quantity_of(part.quantity)
        if part.period:
            expected: tuple[float, ...] = (longest_s(*part.period),)
        else:
            unit_of(quantity, part.unit)
            expected = tuple(to_si(part.quantity, number, part.unit) for number in part.published)
    except InputError as error:
        yield entry, f"Part “{part.name}”: {error.problem}", error.remedy
        return
    stored = tuple(bound for bound in (part.low, part.high) if bound is not None)
    for wanted, found in zip(expected, stored, strict=False):
        if not math.isclose(wanted, found, rel_tol=1e-4, abs_tol=1e-9):
            yield (
                entry,
                f"Part “{part.name}”: the stored value {found:g} {quantity.si_unit} is not {wanted:g}, which the "
                "published one gives.",
                "Correct one of the two.",
            )
    if len(expected) != len(stored):
        yield entry, f"Part “{part.name}” does not fit “{part.comparator}”.", "Give as many values as it needs."
    if len(stored) == 2 and stored[0] > stored[1]:
        yield entry, f"Part “{part.name}”: the lowest value is above the highest.", "Exchange the two."
    for bound in stored:
        if not quantity.plausible_low <= bound <= quantity.plausible_high:
            yield entry, f"Part “{part.name}”: {bound:g} {quantity.si_unit} is not plausible.", "Look for a slip."


def _sampling(entry: str, plan: Sampling) -> Iterator[Problem]:
    if plan.c >= plan.n:
        yield entry, f"c = {plan.c} of n = {plan.n} units would let every unit pass.", "Give c below n."
    if plan.m is not None and plan.largest is not None and plan.m > plan.largest:
        yield entry, "m is above M.", "Exchange the two."


def _table(entry: str, table: Table) -> Iterator[Problem]:
    for key in (table.row_quantity, table.column_quantity):
        try:
            quantity_of(key)
        except InputError as error:
            yield entry, error.problem, error.remedy
    if len(table.cells) != len(table.rows) or any(len(row) != len(table.columns) for row in table.cells):
        yield entry, "The table has not one cell for every row and column.", "Fill it."


def _hazard(library: Library, entry: HazardEntry) -> Iterator[Problem]:
    yield from _sources(library, entry.id, entry.sources)
    for value in entry.values:
        if value not in library.values:
            yield _missing(entry.id, "value", value)
    for occurrence in entry.at:
        if occurrence.step not in library.steps:
            yield _missing(entry.id, "step", occurrence.step)
        for control in occurrence.controlled_by:
            if control not in library.controls:
                yield _missing(entry.id, "control", control)
        if occurrence.significant and not occurrence.controlled_by:
            yield (
                entry.id,
                f"It is significant at “{occurrence.step}”, and nothing controls it.",
                "Name in controlled_by what does.",
            )
        yield from _when(library, entry.id, occurrence.when)


def _sources(library: Library, entry: str, sources: tuple[Source, ...]) -> Iterator[Problem]:
    for source in sources:
        document = library.documents.get(source.document)
        if document is None:
            yield _missing(entry, "document", source.document)
        elif _BEST_FIRST.index(source.known) < _BEST_FIRST.index(document.known):
            yield (
                entry,
                f"Its source “{source.document}” is marked better known than the document is.",
                "Mark it as the document is.",
            )


def _step(library: Library, entry: StepEntry) -> Iterator[Problem]:
    yield from _when(library, entry.id, entry.when)
    for material in (*entry.inputs, *entry.outputs):
        yield from _when(library, entry.id, material.when)
    for rework in entry.rework:
        yield from _when(library, entry.id, rework.when)
        if rework.to not in library.steps:
            yield _missing(entry.id, "step", rework.to)


def _control(library: Library, entry: ControlEntry) -> Iterator[Problem]:
    if entry.step and entry.step not in library.steps:
        yield _missing(entry.id, "step", entry.step)
    if entry.is_critical and not (entry.step and entry.limits and entry.checks and entry.validation):
        yield (
            entry.id,
            "A critical control point lacks a step, limits, checks or what validates it.",
            "Give all four.",
        )
    if not entry.is_critical and not entry.programme:
        yield entry.id, "A prerequisite programme has no name.", "Name it in programme, such as “cleaning”."
    yield from _sources(library, entry.id, entry.sources)
    yield from _when(library, entry.id, entry.when)
    for choice in entry.limits:
        yield from _limit_choice(library, entry.id, choice)
    for check in entry.checks:
        yield from _check(library, entry, check)


def _limit_choice(library: Library, entry: str, choice: LimitChoice) -> Iterator[Problem]:
    yield from _when(library, entry, choice.when)
    for when, value_id, limit_key in choice.choose:
        yield from _when(library, entry, when)
        value = library.values.get(value_id)
        if value is None:
            yield _missing(entry, "value", value_id)
            continue
        ready = next((item for item in value.limits if item.key == limit_key), None)
        if ready is None:
            yield entry, f"“{value_id}” has no ready limit “{limit_key}”.", "Add it there, or name another."
        elif ready.limit.quantity != choice.quantity:
            yield (
                entry,
                f"Limit “{choice.key}” is of {choice.quantity}, but “{value_id}” is of {ready.limit.quantity}.",
                "Use one quantity.",
            )
        for jurisdiction in when.get("jurisdiction", ()):
            if jurisdiction not in value.jurisdictions:
                yield (
                    entry,
                    f"“{value_id}” is chosen for {jurisdiction}, where it does not hold.",
                    "Choose a value of that jurisdiction.",
                )


def _check(library: Library, control: ControlEntry, check: CheckEntry) -> Iterator[Problem]:
    yield from _when(library, control.id, check.when)
    try:
        check_cadence(check.cadence)
    except InputError as error:
        yield control.id, f"Check “{check.name}”: {error.problem}", error.remedy
    by_key = {choice.key: choice for choice in control.limits}
    for measure in check.measures:
        if measure.quantity:
            try:
                unit_of(quantity_of(measure.quantity), measure.unit)
            except InputError as error:
                yield control.id, f"“{measure.label}”: {error.problem}", error.remedy
        wanted = "answer" if measure.kind == "answer" else measure.quantity
        for key in measure.limits:
            if key not in by_key:
                yield control.id, f"“{measure.label}” names the limit “{key}”, which is not there.", "Correct it."
            elif by_key[key].quantity != wanted:
                yield control.id, f"“{measure.label}” is not of the quantity of limit “{key}”.", "Use one quantity."


def _family(library: Library, entry: Family) -> Iterator[Problem]:
    for step in entry.steps:
        if step not in library.steps:
            yield _missing(entry.id, "step", step)
    for question, answer in entry.typical.items():
        yield from _when(library, entry.id, {question: OneOf((answer,))})


def _families(library: Library, entry: str, families: tuple[str, ...]) -> Iterator[Problem]:
    for family in families:
        if family not in library.families:
            yield _missing(entry, "family", family)


def _question(library: Library, entry: Question) -> Iterator[Problem]:
    yield from _when(library, entry.id, entry.when)
    if (entry.kind == "choice") != bool(entry.choices):
        yield entry.id, "Choices go with the kind “choice”, and it needs them.", "Give choices, or another kind."
    if entry.default is not None:
        yield from _when(library, entry.id, {entry.id: OneOf((entry.default,))})
    if entry.id == "family":
        for key, _ in entry.choices:
            if key not in library.families:
                yield _missing(entry.id, "family", key)


def _when(library: Library, entry: str, when: When) -> Iterator[Problem]:
    for question_id, wanted in when.items():
        question = library.questions.get(question_id)
        if question is None:
            yield _missing(entry, "question", question_id)
        elif isinstance(wanted, InRange):
            if question.kind != "number":
                yield entry, f"“{question_id}” is not a number.", "List the answers instead."
        else:
            for answer in wanted:
                if not is_an_answer(question, answer):
                    yield entry, f"“{answer}” is no answer to “{question_id}”.", f"Choose {offered(question)}."


def is_an_answer(question: Question, answer: object) -> bool:
    if question.kind == "yes_no":
        return isinstance(answer, bool)
    if question.kind == "number":
        return (
            isinstance(answer, int | float)
            and not isinstance(answer, bool)
            and math.isfinite(answer)
            and (question.lowest is None or answer >= question.lowest)
            and (question.highest is None or answer <= question.highest)
        )
    return any(answer == key for key, _ in question.choices)


def offered(question: Question) -> str:
    """The answers to a question, for a remedy: "cow, goat, ewe or buffalo"."""
    if question.kind == "yes_no":
        return "yes or no"
    if question.kind == "number":
        low = "" if question.lowest is None else f" from {question.lowest:g}"
        high = "" if question.highest is None else f" up to {question.highest:g}"
        return f"a number{low}{high}"
    keys = [key for key, _ in question.choices]
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} or {keys[-1]}"


def _missing(entry: str, kind: str, wanted: str) -> Problem:
    return entry, f"There is no {kind} “{wanted}”.", f"Correct the id, or add the {kind}."
