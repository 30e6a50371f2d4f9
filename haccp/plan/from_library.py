"""A draft plan of the library, built as rows of the plan through the plan's own actions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from haccp.plan import actions
from haccp.plan.library.conditions import Answer
from haccp.plan.library.draft import draft_plan
from haccp.plan.library.entries import CheckEntry, MeasureEntry
from haccp.plan.library.plan_draft import BorrowedLimit, ControlDraft, HazardDraft, OpenJudgement, PlanDraft
from haccp.plan.library_store import stored_library
from haccp.plan.models import Hazard, PlanRevision, ProcessStep, Product
from haccp.premises.errors import ActionError
from haccp.premises.models import Place
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError


@dataclass(frozen=True, slots=True)
class DraftedPlan:
    """open_judgements: of the draft, and of what this dairy lacks (a place that a check needs)."""

    revision: PlanRevision
    draft: PlanDraft
    open_judgements: tuple[OpenJudgement, ...]


@transaction.atomic
def plan_draft_from_answers(
    *, scope: Scope, answers: Mapping[str, Answer], at: datetime, product: Product | None = None
) -> DraftedPlan:
    """A new draft revision with the steps, hazards, control points, limits and checks that the answers lead to.

    Limits that are the producer's to set are left out, so that such a control point cannot be approved before it has
    one; they are listed. product: whose steps, limits and checks these are; None for all.
    Raises NotAllowed, and ActionError for answers that cannot be used or a library that is not loaded.
    """
    scope.require(Right.APPROVE_PLAN)
    if product is not None and product.premises_id != scope.premises.id:
        raise ActionError("There is no such cheese at this dairy.")
    try:
        draft = draft_plan(answers, stored_library(), on=scope.premises.local_date(at))
    except InputError as error:
        raise ActionError(str(error), field="answers") from error
    revision = actions.revision_draft(
        scope=scope, scope_statement=_scope_statement(draft), change_summary=_summary(draft), at=at
    )
    products = [product] if product else []
    steps = _add_steps(revision, draft, products)
    hazards = _add_hazards(revision, draft, steps)
    places = list(scope.premises.places.all())
    lacking: dict[str, OpenJudgement] = {}
    for control in draft.controls:
        actions.control_point_add(
            scope=scope,
            revision=revision,
            draft=_control_point(control, steps, hazards, products, places, lacking),
        )
    return DraftedPlan(revision, draft, (*draft.open_judgements, *lacking.values()))


def control_point_draft(control: ControlDraft) -> actions.ControlPointDraft:
    """The plan's own draft of a control point, apart from steps, hazards and places, which are rows."""
    return actions.ControlPointDraft(
        code=control.code,
        name=control.name,
        kind=control.kind,
        corrective_action=control.corrective_action,
        programme=control.programme,
        verification=_verification(control),
        limits=[limit_draft(limit) for limit in control.borrowed],
        checks=[check_draft(check, control) for check in control.checks],
    )


def limit_draft(limit: BorrowedLimit) -> actions.LimitDraft:
    judged = limit.ready.limit
    return actions.LimitDraft(
        key=limit.key,
        statement=limit.ready.statement,
        quantity=judged.quantity,
        evaluator=judged.evaluator,
        comparator=judged.comparator.value,
        low=judged.low,
        high=judged.high,
        target_low=judged.target_low,
        target_high=judged.target_high,
        accepted=judged.accepted,
        parameters=judged.parameters,
        unit=judged.unit,
        source_document=limit.document,
        source_clause=limit.clause,
    )


def check_draft(check: CheckEntry, control: ControlDraft) -> actions.CheckDraft:
    """Measures name the limits that are borrowed; those that stay open join when they are set."""
    borrowed = {limit.key for limit in control.borrowed}
    return actions.CheckDraft(
        name=check.name,
        subject=check.subject,
        cadence=check.cadence,
        measures=[_measure_draft(measure, borrowed) for measure in check.measures],
        how=check.how,
        who=check.who,
        instrument_kind=check.instrument_kind,
        window_before_s=check.window_before_s,
        grace_s=check.grace_s,
    )


def _measure_draft(measure: MeasureEntry, borrowed: set[str]) -> actions.MeasureDraft:
    return actions.MeasureDraft(
        label=measure.label,
        kind=measure.kind,
        quantity=measure.quantity,
        unit=measure.unit,
        choices=measure.choices,
        required=measure.required,
        limits=[key for key in measure.limits if key in borrowed],
    )


def _scope_statement(draft: PlanDraft) -> str:
    family, species, treatment = (draft.answers[name] for name in ("family", "species", "treatment"))
    return (
        f"{str(family).replace('_', ' ').capitalize()} cheese of {treatment} {species}'s milk, from milk to dispatch."
    )


def _summary(draft: PlanDraft) -> str:
    name, number, _ = draft.library
    lines = [f"Drafted from {name}, edition {number}. Still to decide before approval:"]
    lines += [f"- {conflict.sentence} ({conflict.citation})" for conflict in draft.conflicts]
    lines += [
        f"- {judgement.place + ': ' if judgement.place else ''}{judgement.question}"
        for judgement in draft.open_judgements
    ]
    return "\n".join(lines)


def _verification(control: ControlDraft) -> str:
    return f"{control.verification}\nValidation: {control.validation}" if control.validation else control.verification


def _add_steps(revision: PlanRevision, draft: PlanDraft, products: Sequence[Product]) -> dict[str, ProcessStep]:
    rows = {
        step.id: ProcessStep(revision=revision, position=step.position, name=step.name, description=step.description)
        for step in draft.steps
    }
    ProcessStep.objects.bulk_create(rows.values())
    for row in rows.values():
        row.products.set(products)
    return rows


def _add_hazards(
    revision: PlanRevision, draft: PlanDraft, steps: Mapping[str, ProcessStep]
) -> dict[tuple[str, str], Hazard]:
    rows = {(hazard.hazard, hazard.step): _hazard(revision, hazard, steps[hazard.step]) for hazard in draft.hazards}
    Hazard.objects.bulk_create(rows.values())
    return rows


def _hazard(revision: PlanRevision, hazard: HazardDraft, step: ProcessStep) -> Hazard:
    sources = "; ".join(hazard.sources)
    return Hazard(
        revision=revision,
        step=step,
        kind=hazard.kind,
        name=hazard.name,
        likelihood=hazard.likelihood,
        severity=hazard.severity,
        significant=hazard.significant,
        justification=f"{hazard.justification} ({sources})",
        control_measure=hazard.control_measure,
    )


def _control_point(
    control: ControlDraft,
    steps: Mapping[str, ProcessStep],
    hazards: Mapping[tuple[str, str], Hazard],
    products: Sequence[Product],
    places: Sequence[Place],
    lacking: dict[str, OpenJudgement],
) -> actions.ControlPointDraft:
    checks = []
    for entry in control.checks:
        plain = replace(check_draft(entry, control), products=products)
        checks += _at_places(plain, entry, control, places, lacking)
    plain_point = control_point_draft(control)
    return replace(
        plain_point,
        step=steps.get(control.step),
        hazards=[hazards[key] for key in control.hazards],
        limits=[replace(limit, products=products) for limit in plain_point.limits],
        checks=checks,
    )


def _at_places(
    check: actions.CheckDraft,
    entry: CheckEntry,
    control: ControlDraft,
    places: Sequence[Place],
    lacking: dict[str, OpenJudgement],
) -> list[actions.CheckDraft]:
    """One check for each place of the kind; for the whole dairy, and listed, where it has none yet."""
    if entry.subject != "place":
        return [check]
    fitting = [place for place in places if place.kind == entry.place_kind]
    if fitting:
        return [replace(check, name=f"{check.name}: {place.name}"[:120], place=place) for place in fitting]
    kind = Place.Kind(entry.place_kind).label
    lacking[f"{control.code} {check.name}"] = OpenJudgement(
        control.code, f"“{check.name}” is for a {kind}, and none is on file: add it, then name it in the check."
    )
    return [replace(check, subject="premises")]
