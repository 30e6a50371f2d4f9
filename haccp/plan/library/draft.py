"""A draft plan out of answers and the library: a starting point that is the producer's to edit.

Every borrowed value bears its source; every judgement that is the producer's own is left open and listed.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from itertools import pairwise

from haccp.plan.library.answers import read_answers
from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.entries import ControlEntry, Force, LimitChoice, StepEntry, Value
from haccp.plan.library.library import HazardAtStep, Library, within
from haccp.plan.library.periods import DAY_S
from haccp.plan.library.plan_draft import (
    BorrowedLimit,
    Conflict,
    ControlDraft,
    HazardDraft,
    LinkDraft,
    OpenJudgement,
    OpenLimit,
    PlanDraft,
    StepDraft,
)

_IN_WORDS = frozenset({"ageing", "ageing_marks", "thermisation", "milk_acceptance", "heat_equipment"})


def draft_plan(given: Mapping[str, Answer], library: Library, *, on: dt.date) -> PlanDraft:
    """The draft that the answers lead to, by the values in force on a day.

    InputError for answers that cannot be used (see read_answers).
    """
    answers = read_answers(library, given)
    entries = _steps(library, answers)
    ids = [entry.id for entry in entries]
    found = library.hazards_for(str(answers["species"]), str(answers["treatment"]), ids, answers)
    chosen = _controls(library, answers, ids)
    hazards = tuple(_hazard(item, chosen, ids, library) for item in found)
    controls = _control_drafts(library, answers, chosen, hazards, on)
    return PlanDraft(
        library=(library.name, library.number, library.sha256),
        answers=answers,
        drafted_for=on,
        steps=tuple(StepDraft(entry.id, n, entry.name, entry.description) for n, entry in enumerate(entries, 1)),
        links=tuple(_links(entries, answers)),
        hazards=hazards,
        controls=controls,
        open_judgements=(*_judgements(answers, controls, hazards), *_rules_in_words(library, answers, on)),
        conflicts=tuple(_conflicts(library, answers, on)),
    )


def _steps(library: Library, answers: Mapping[str, Answer]) -> list[StepEntry]:
    family = library.families[str(answers["family"])]
    return [library.steps[name] for name in family.steps if applies(library.steps[name].when, answers)]


def _links(entries: Sequence[StepEntry], answers: Mapping[str, Answer]) -> list[LinkDraft]:
    ids = {entry.id for entry in entries}
    links = [LinkDraft("flow", one.id, two.id) for one, two in pairwise(entries)]
    for entry in entries:
        links += [LinkDraft("input", "", entry.id, m.name) for m in entry.inputs if applies(m.when, answers)]
        links += [LinkDraft("output", entry.id, "", m.name) for m in entry.outputs if applies(m.when, answers)]
        links += [
            LinkDraft("rework", entry.id, back.to, back.material)
            for back in entry.rework
            if back.to in ids and applies(back.when, answers)
        ]
    return links


def _controls(library: Library, answers: Mapping[str, Answer], steps: Sequence[str]) -> dict[str, ControlEntry]:
    """In the order of the flow; prerequisites after the critical control points."""
    found = [
        entry
        for entry in library.controls.values()
        if applies(entry.when, answers) and (not entry.step or entry.step in steps)
    ]
    found.sort(key=lambda entry: (not entry.is_critical, steps.index(entry.step) if entry.step else 0))
    return {entry.id: entry for entry in found}


def _hazard(
    item: HazardAtStep, chosen: Mapping[str, ControlEntry], steps: Sequence[str], library: Library
) -> HazardDraft:
    occurrence, hazard = item.occurrence, item.hazard
    controls = tuple(name for name in occurrence.controlled_by if name in chosen)
    return HazardDraft(
        hazard=hazard.id,
        step=occurrence.step,
        kind=hazard.kind,
        name=hazard.name,
        how=occurrence.how,
        likelihood=occurrence.likelihood,
        severity=hazard.severity,
        significant=occurrence.significant,
        justification=occurrence.justification,
        control_measure=occurrence.control_measure,
        controls=controls,
        tree=_tree(occurrence.step, [chosen[name] for name in controls], steps) if occurrence.significant else None,
        sources=tuple(
            f"{library.documents[source.document].title}, {source.clause} ({source.known.in_words})"
            for source in hazard.sources
        ),
    )


def _tree(step: str, controls: Sequence[ControlEntry], steps: Sequence[str]) -> dict[str, bool]:
    """Answers to the current tree of haccp.science.decision_tree, only those that it asks on the way."""
    critical = [control for control in controls if control.is_critical]
    if controls and not critical:
        return {"q1": True}
    if not any(control.step == step for control in critical):
        return {"q1": False, "q2": False}
    if any(steps.index(control.step) > steps.index(step) for control in critical):
        return {"q1": False, "q2": True, "q3": True}
    return {"q1": False, "q2": True, "q3": False, "q4": True}


def _control_drafts(
    library: Library,
    answers: Mapping[str, Answer],
    chosen: Mapping[str, ControlEntry],
    hazards: Sequence[HazardDraft],
    on: dt.date,
) -> tuple[ControlDraft, ...]:
    numbers = {"ccp": 0, "prerequisite": 0}
    drafts = []
    for entry in chosen.values():
        numbers[entry.kind] += 1
        drafts.append(
            ControlDraft(
                id=entry.id,
                code=f"{'CCP' if entry.is_critical else 'PRP'} {numbers[entry.kind]}",
                kind=entry.kind,
                name=entry.name,
                programme=entry.programme,
                step=entry.step,
                hazards=tuple((hazard.hazard, hazard.step) for hazard in hazards if entry.id in hazard.controls),
                limits=tuple(
                    _limit(library, choice, answers, on) for choice in entry.limits if applies(choice.when, answers)
                ),
                checks=tuple(check for check in entry.checks if applies(check.when, answers)),
                corrective_action=entry.corrective_action,
                verification=entry.verification,
                validation=entry.validation,
            )
        )
    return tuple(drafts)


def _limit(
    library: Library, choice: LimitChoice, answers: Mapping[str, Answer], on: dt.date
) -> BorrowedLimit | OpenLimit:
    for when, value_id, limit_key in choice.choose:
        value = library.values[value_id]
        if applies(when, answers) and value.is_in_force(on):
            title = library.documents[value.document].title
            return BorrowedLimit(choice.key, value.id, value.limit(limit_key), title, _clause(value), value.known.value)
    return OpenLimit(
        choice.key,
        choice.open_statement,
        choice.open_question,
        choice.quantity,
        choice.comparator.value,
        choice.evaluator,
        choice.help,
    )


def _clause(value: Value) -> str:
    return value.clause if value.known == "read" else f"{value.clause} ({value.known.in_words})"


def _judgements(
    answers: Mapping[str, Answer], controls: Sequence[ControlDraft], hazards: Sequence[HazardDraft]
) -> list[OpenJudgement]:
    found = [OpenJudgement(control.code, limit.question, limit.help) for control in controls for limit in control.open]
    found += [
        OpenJudgement(
            control.code,
            f"“{limit.ready.statement}” rests on {limit.document}, {limit.clause}: confirm the text.",
        )
        for control in controls
        for limit in control.borrowed
        if limit.needs_confirming
    ]
    found += [
        OpenJudgement(hazard.step, f"{hazard.name} is significant here, and nothing in the plan controls it.")
        for hazard in hazards
        if hazard.significant and not hazard.controls
    ]
    found += [
        OpenJudgement("", "Likelihood and severity are suggestions from 1 to 5: rank them on your own scale."),
        OpenJudgement("", "Walk the flow in the dairy while cheese is made, correct it, and sign it."),
        OpenJudgement("", "Describe the cheese: composition, pH, water activity, salt, shelf life, storage, label."),
    ]
    if answers.get("vulnerable_consumers") is True:
        found.append(
            OpenJudgement("", "Who eats it: what do label and plan say to infants, pregnant, old and ill people?")
        )
    if answers.get("people") == 1:
        found.append(OpenJudgement("", "You work alone: who else reads the records that you make?"))
    return found


def _rules_in_words(library: Library, answers: Mapping[str, Answer], on: dt.date) -> list[OpenJudgement]:
    """Law that binds here and gives no number to judge by."""
    return [
        OpenJudgement("", f"{value.title} ({library.citation(value)}): how is it met?", value.rule)
        for value in library.values.values()
        if value.subject in _IN_WORDS and value.rule and not value.forbids and _binds(value, answers, on)
    ]


def _conflicts(library: Library, answers: Mapping[str, Answer], on: dt.date) -> list[Conflict]:
    """What the law does not let stand: an age that is not reached (the longest of them), milk that may not be used."""
    binding = [value for value in library.values.values() if _binds(value, answers, on)]
    found = [Conflict(value.id, value.rule, library.citation(value)) for value in binding if value.forbids]
    days = answers.get("ageing_days")
    sold_s = float(days) * DAY_S if days is not None else 0.0
    too_long = [value for value in binding if _age_s(value) > sold_s]
    if too_long:
        strictest = max(too_long, key=_age_s)
        sentence = f"{strictest.title}; you sell it from {sold_s / DAY_S:g} days."
        found.append(Conflict(strictest.id, sentence, library.citation(strictest)))
    return found


def _binds(value: Value, answers: Mapping[str, Answer], on: dt.date) -> bool:
    return (
        value.force is Force.FLOOR
        and bool(set(within(str(answers["jurisdiction"]))) & set(value.jurisdictions))
        and value.is_in_force(on)
        and value.concerns(str(answers["species"]), str(answers["treatment"]))
        and (not value.families or answers["family"] in value.families)
        and applies(value.when, answers)
    )


def _age_s(value: Value) -> float:
    """The least age in seconds that the value asks for; 0 where it asks for none."""
    if value.subject != "ageing":
        return 0.0
    return next((part.low for part in value.parts if part.name == "age" and part.low is not None), 0.0)
