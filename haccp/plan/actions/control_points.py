"""A control point written in one go, with its limits and the checks that watch them."""

from collections.abc import Iterable, Iterator, Mapping
from uuid import uuid4

from django.db import transaction

from haccp.plan.actions.drafts import CheckDraft, ControlPointDraft, LimitDraft
from haccp.plan.actions.editable import editable
from haccp.plan.actions.parts import refuse_problems
from haccp.plan.document import Part, PlaceNamed, PlanDocument
from haccp.plan.document.parts import Check, CriticalLimit, Hazard, Measure, Step
from haccp.plan.document.parts import ControlPoint as ControlPointPart
from haccp.plan.models import ControlPoint, PlanRevision, Product
from haccp.plan.rows import Names, add_parts, named
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from haccp.premises.scope import Scope


@transaction.atomic
def control_point_add(*, scope: Scope, revision: PlanRevision, draft: ControlPointDraft) -> ControlPoint:
    """Adds a control point with its limits and the checks that watch them.

    Raises ActionError for a limit that cannot be judged, a cadence that says nothing, a step or hazard of another
    revision, or a revision that is approved (frozen).
    """
    locked = editable(scope, revision)
    _refuse_strangers(locked, draft)
    parts = list(_parts(draft))
    document = _around(draft)
    for part in parts:
        document = document.with_part(part)
    refuse_problems(parts, document)
    if ControlPoint.objects.filter(revision=locked, code=draft.code).exists():
        raise Conflict(f"There is already a control point {draft.code}; choose another code.", field="code")
    add_parts(locked, parts, _names(draft))
    return ControlPoint.objects.get(revision=locked, origin=parts[0].key)


def _refuse_strangers(revision: PlanRevision, draft: ControlPointDraft) -> None:
    if draft.step is not None and draft.step.revision_id != revision.pk:
        raise ActionError("Choose a step of this revision.", field="step")
    if any(hazard.revision_id != revision.pk for hazard in draft.hazards):
        raise ActionError("Choose hazards of this revision.", field="hazards")
    if any(place.premises_id != revision.premises_id for place in _places(draft)):
        raise ActionError("Choose a place of this dairy.", field="place")
    if any(product.premises_id != revision.premises_id for product in _products(draft)):
        raise ActionError("Choose products of this dairy.", field="products")


def _parts(draft: ControlPointDraft) -> Iterator[Part]:
    point = ControlPointPart(
        step=draft.step.key if draft.step else None,
        kind=draft.kind,
        code=draft.code,
        name=draft.name,
        programme=draft.programme,
        hazards=tuple(hazard.key for hazard in draft.hazards),
        corrective_action=draft.corrective_action,
        disposition=draft.disposition,
        verification=draft.verification,
    )
    yield point
    keys: dict[str, str] = {}
    for limit in draft.limits:
        keys[limit.key] = str(uuid4())
        yield _limit(limit, keys[limit.key], point.key)
    for check in draft.checks:
        yield from _check(check, point.key, keys)


def _limit(draft: LimitDraft, key: str, point: str) -> CriticalLimit:
    return CriticalLimit(
        key=key,
        control_point=point,
        statement=draft.statement,
        quantity=draft.quantity,
        evaluator=draft.evaluator,
        comparator=str(draft.comparator),
        low=draft.low,
        high=draft.high,
        target_low=draft.target_low,
        target_high=draft.target_high,
        accepted=tuple(draft.accepted),
        parameters=dict(draft.parameters),
        unit=draft.unit,
        source_document=draft.source_document,
        source_clause=draft.source_clause,
        products=_codes(draft.products),
    )


def _check(draft: CheckDraft, point: str, limits: Mapping[str, str]) -> Iterator[Part]:
    check = Check(
        control_point=point,
        name=draft.name,
        how=draft.how,
        who=draft.who,
        subject=draft.subject,
        place=draft.place.name if draft.place else None,
        instrument_kind=draft.instrument_kind,
        cadence=dict(draft.cadence),
        window_before_s=draft.window_before_s,
        grace_s=draft.grace_s,
        rests=draft.rests,
        if_missed=draft.if_missed,
        products=_codes(draft.products),
    )
    yield check
    for position, measure in enumerate(draft.measures):
        unknown = [key for key in measure.limits if key not in limits]
        if unknown:
            raise ActionError(f"{draft.name}: there is no limit “{unknown[0]}” in this control point.", field="limits")
        yield Measure(
            check=check.key,
            position=position,
            label=measure.label,
            kind=measure.kind,
            quantity=measure.quantity,
            unit=measure.unit,
            choices=tuple(measure.choices),
            required=measure.required,
            limits=tuple(limits[key] for key in measure.limits),
        )


def _codes(products: Iterable[Product]) -> tuple[str, ...]:
    return tuple(sorted(product.code for product in products))


def _products(draft: ControlPointDraft) -> list[Product]:
    named_in = [*(limit.products for limit in draft.limits), *(check.products for check in draft.checks)]
    return list({product.pk: product for products in named_in for product in products}.values())


def _places(draft: ControlPointDraft) -> list[Place]:
    found = {check.place.pk: check.place for check in draft.checks if check.place is not None}
    return list(found.values())


def _around(draft: ControlPointDraft) -> PlanDocument:
    """A document of what the draft refers to, which is all that checking it needs."""
    step = Step(key=draft.step.key, position=1, name=draft.step.name) if draft.step else None
    return PlanDocument(
        products=tuple(named(product) for product in _products(draft)),
        places=tuple(PlaceNamed(name=place.name, kind=place.kind) for place in _places(draft)),
        steps=(step,) if step else (),
        hazards=tuple(Hazard(key=hazard.key, step="", kind=hazard.kind, name=hazard.name) for hazard in draft.hazards),
    )


def _names(draft: ControlPointDraft) -> Names:
    ids = {hazard.key: hazard.pk for hazard in draft.hazards}
    if draft.step is not None:
        ids[draft.step.key] = draft.step.pk
    return Names(
        ids,
        {product.code: product.pk for product in _products(draft)},
        {place.name: place.pk for place in _places(draft)},
    )
