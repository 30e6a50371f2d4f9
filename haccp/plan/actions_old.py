"""Writes to the plan: build a draft, approve it. An approved revision is frozen by the database."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from haccp.ledger import actions as ledger
from haccp.plan.models import (
    Check,
    ControlPoint,
    CriticalLimit,
    Hazard,
    Measure,
    PlanRevision,
    ProcessStep,
    Product,
)
from haccp.premises.actions import confirm_password
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.evaluators import check_limit
from haccp.science.schedule import check_cadence

APPROVAL_STATEMENT = "I approve this revision of the food-safety plan; it is in force from the date stated."


@transaction.atomic
def product_add(*, scope: Scope, name: str, code: str, species: str, treatment: str, family: str = "") -> Product:
    scope.require(Right.APPROVE_PLAN)
    return Product.objects.create(
        premises=scope.premises, name=name, code=code, species=species, treatment=treatment, family=family
    )


@transaction.atomic
def revision_draft(*, scope: Scope, scope_statement: str, change_summary: str, at: datetime) -> PlanRevision:
    """A new, empty draft with the next number."""
    scope.require(Right.APPROVE_PLAN)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    last = PlanRevision.objects.for_premises(scope.premises).aggregate(last=Max("number"))["last"] or 0
    return PlanRevision.objects.create(
        premises=scope.premises,
        number=last + 1,
        scope_statement=scope_statement,
        change_summary=change_summary,
        drafted_at=at,
        drafted_by=scope.user,
    )


@transaction.atomic
def step_add(
    *, scope: Scope, revision: PlanRevision, name: str, description: str = "", products: Sequence[Product] = ()
) -> ProcessStep:
    """Adds a step at the end of a draft's flow. Raises ActionError for a revision that is approved (frozen)."""
    scope.require(Right.APPROVE_PLAN)
    _refuse_frozen(scope, revision)
    last = ProcessStep.objects.filter(revision=revision).aggregate(last=Max("position"))["last"] or 0
    step = ProcessStep.objects.create(revision=revision, position=last + 1, name=name, description=description)
    step.products.set(products)
    return step


@transaction.atomic
def hazard_add(
    *,
    scope: Scope,
    revision: PlanRevision,
    step: ProcessStep,
    kind: str,
    name: str,
    likelihood: int,
    severity: int,
    significant: bool,
    justification: str,
    control_measure: str,
) -> Hazard:
    """Adds a line of the hazard analysis to a draft. likelihood, severity: 1 to 5, as the plan's team ranks them.

    Raises ActionError without a justification, for a step of another revision, or for a revision that is approved.
    """
    scope.require(Right.APPROVE_PLAN)
    _refuse_frozen(scope, revision)
    if step.revision_id != revision.pk:
        raise ActionError("Choose a step of this revision.", field="step")
    if not justification.strip():
        raise ActionError("Say why the hazard is significant, or why it is not.", field="justification")
    return Hazard.objects.create(
        revision=revision,
        step=step,
        kind=kind,
        name=name,
        likelihood=likelihood,
        severity=severity,
        significant=significant,
        justification=justification.strip(),
        control_measure=control_measure,
    )


@dataclass(frozen=True, slots=True)
class LimitDraft:
    """The fields of plan.CriticalLimit; key is how checks of the same draft name it."""

    key: str
    statement: str
    quantity: str
    evaluator: str
    comparator: str
    low: float | None = None
    high: float | None = None
    target_low: float | None = None
    target_high: float | None = None
    accepted: Sequence[str] = ()
    parameters: Mapping[str, Any] = field(default_factory=dict)
    unit: str = ""
    source_document: str = ""
    source_clause: str = ""
    products: Sequence[Product] = ()


@dataclass(frozen=True, slots=True)
class MeasureDraft:
    label: str
    kind: str
    quantity: str = ""
    unit: str = ""
    choices: Sequence[str] = ()
    required: bool = True
    limits: Sequence[str] = ()  # keys of LimitDraft


@dataclass(frozen=True, slots=True)
class CheckDraft:
    name: str
    subject: str
    cadence: Mapping[str, Any]
    measures: Sequence[MeasureDraft]
    how: str = ""
    who: str = ""
    place: Any = None
    instrument_kind: str = ""
    window_before_s: int = 3600
    grace_s: int = 3600
    products: Sequence[Product] = ()


@dataclass(frozen=True, slots=True)
class ControlPointDraft:
    code: str
    name: str
    kind: str
    corrective_action: str
    step: ProcessStep | None = None
    programme: str = ""
    verification: str = ""
    hazards: Sequence[Hazard] = ()
    limits: Sequence[LimitDraft] = ()
    checks: Sequence[CheckDraft] = ()


@transaction.atomic
def control_point_add(*, scope: Scope, revision: PlanRevision, draft: ControlPointDraft) -> ControlPoint:
    """Adds a control point with its limits and the checks that watch them.

    Raises ActionError for a limit that cannot be judged, a cadence that says nothing, or a revision that is
    approved (frozen).
    """
    scope.require(Right.APPROVE_PLAN)
    _refuse_frozen(scope, revision)
    point = ControlPoint.objects.create(
        revision=revision,
        step=draft.step,
        kind=draft.kind,
        code=draft.code,
        name=draft.name,
        programme=draft.programme,
        corrective_action=draft.corrective_action,
        verification=draft.verification,
    )
    point.hazards.set(draft.hazards)
    limits = {limit.key: _limit_add(revision, point, limit) for limit in draft.limits}
    for check in draft.checks:
        _check_add(revision, point, check, limits)
    return point


@transaction.atomic
def revision_approve(
    *, scope: Scope, revision: PlanRevision, effective_from: datetime, password: str, at: datetime
) -> PlanRevision:
    """Signs a draft. From then on the database refuses any change to it or its parts.

    Raises ActionError for a plan without a critical control point's limit, check or corrective action.
    """
    scope.require(Right.APPROVE_PLAN)
    confirm_password(scope=scope, password=password)
    locked = PlanRevision.objects.select_for_update(of=("self",)).get(pk=revision.pk)
    if locked.is_approved:
        raise Conflict(f"{locked} is approved already.")
    _refuse_incomplete(locked)
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="plan.approved",
        statement=APPROVAL_STATEMENT,
        content=revision_content(locked, effective_from),
        method="password",
        at=at,
    )
    locked.approval, locked.effective_from = signature, effective_from
    locked.save(update_fields=["approval", "effective_from"])
    return locked


def revision_content(revision: PlanRevision, effective_from: datetime) -> dict[str, object]:
    """What an approval signs: every limit, check and prescribed corrective action as data."""
    points = revision.control_points.prefetch_related("limits", "checks__measures")
    return {
        "revision": revision.number,
        "effective_from": effective_from,
        "steps": [step.name for step in revision.steps.all()],
        "control_points": [
            {
                "code": point.code,
                "name": point.name,
                "kind": point.kind,
                "corrective_action": point.corrective_action,
                "limits": [limit.statement for limit in point.limits.all()],
                "checks": [{"name": check.name, "cadence": check.cadence} for check in point.checks.all()],
            }
            for point in points
        ],
    }


def _limit_add(revision: PlanRevision, point: ControlPoint, draft: LimitDraft) -> CriticalLimit:
    limit = CriticalLimit(
        revision=revision,
        control_point=point,
        statement=draft.statement,
        quantity=draft.quantity,
        evaluator=draft.evaluator,
        comparator=draft.comparator,
        low=draft.low,
        high=draft.high,
        target_low=draft.target_low,
        target_high=draft.target_high,
        accepted=list(draft.accepted),
        parameters=dict(draft.parameters),
        unit=draft.unit,
        source_document=draft.source_document,
        source_clause=draft.source_clause,
    )
    try:
        check_limit(limit.as_limit())
    except InputError as error:
        raise ActionError(f"{draft.statement}: {error}", field="limits") from error
    limit.save(force_insert=True)
    limit.products.set(draft.products)
    return limit


def _check_add(
    revision: PlanRevision, point: ControlPoint, draft: CheckDraft, limits: Mapping[str, CriticalLimit]
) -> Check:
    try:
        check_cadence(dict(draft.cadence))
    except InputError as error:
        raise ActionError(f"{draft.name}: {error}", field="checks") from error
    check = Check.objects.create(
        revision=revision,
        control_point=point,
        name=draft.name,
        how=draft.how,
        who=draft.who,
        subject=draft.subject,
        place=draft.place,
        instrument_kind=draft.instrument_kind,
        cadence=dict(draft.cadence),
        window_before_s=draft.window_before_s,
        grace_s=draft.grace_s,
    )
    check.products.set(draft.products)
    for position, measure in enumerate(draft.measures):
        row = Measure.objects.create(
            revision=revision,
            check_made=check,
            position=position,
            label=measure.label,
            kind=measure.kind,
            quantity=measure.quantity,
            unit=measure.unit,
            choices=list(measure.choices),
            required=measure.required,
        )
        row.limits.set([limits[key] for key in measure.limits])
    return check


def _refuse_frozen(scope: Scope, revision: PlanRevision) -> None:
    if revision.premises_id != scope.premises.id:
        raise ActionError("There is no such plan at this dairy.")
    if PlanRevision.objects.filter(pk=revision.pk, approval__isnull=False).exists():
        raise ActionError(f"{revision} is approved and frozen; draft a new revision to change the plan.")


def _refuse_incomplete(revision: PlanRevision) -> None:
    points = list(revision.control_points.prefetch_related("limits", "checks"))
    critical = [point for point in points if point.is_critical]
    if not critical:
        raise ActionError("The plan has no critical control point yet; determine them before approval.")
    for point in critical:
        if not point.limits.all():
            raise ActionError(f"{point} has no critical limit; give it one before approval.")
        if not point.checks.all():
            raise ActionError(f"{point} is not monitored by any check; add one before approval.")
        if not point.corrective_action.strip():
            raise ActionError(f"{point} has no corrective action; say what is done when its limit is not met.")
