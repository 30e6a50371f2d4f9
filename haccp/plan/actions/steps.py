"""The parts that most plans are written with first, in plain arguments: steps and hazards."""

from collections.abc import Sequence
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from haccp.plan.actions.editable import editable
from haccp.plan.actions.parts import refuse_problems
from haccp.plan.document import Part, PlanDocument
from haccp.plan.document.parts import Hazard as HazardPart
from haccp.plan.document.parts import Step
from haccp.plan.models import Hazard, PlanRevision, ProcessStep, Product
from haccp.plan.rows import Names, add_parts, named
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope


@transaction.atomic
def step_add(
    *,
    scope: Scope,
    revision: PlanRevision,
    name: str,
    description: str = "",
    products: Sequence[Product] = (),
    kind: str = "operation",
) -> ProcessStep:
    """Adds a step at the end of a draft's flow. Raises ActionError for a revision that is approved (frozen)."""
    draft = editable(scope, revision)
    last = ProcessStep.objects.filter(revision=draft).aggregate(last=Max("position"))["last"] or 0
    codes = tuple(sorted(product.code for product in products))
    step = Step(position=last + 1, name=name, kind=kind, description=description, products=codes)
    _store(draft, step, PlanDocument(products=tuple(named(product) for product in products)), products)
    return ProcessStep.objects.get(revision=draft, origin=step.key)


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
    agent: str = "",
    acceptable_level: str = "",
) -> Hazard:
    """Adds a line of the hazard analysis to a draft. likelihood, severity: ranks of the producer's scale.

    Raises ActionError without a justification, for a step of another revision, or for a revision that is approved.
    """
    draft = editable(scope, revision)
    if step.revision_id != draft.pk:
        raise ActionError("Choose a step of this revision.", field="step")
    if not justification.strip():
        raise ActionError("Say why the hazard is significant, or why it is not.", field="justification")
    hazard = HazardPart(
        step=step.key,
        kind=kind,
        name=name,
        agent=agent,
        likelihood=likelihood,
        severity=severity,
        significant=significant,
        justification=justification.strip(),
        acceptable_level=acceptable_level,
        control_measure=control_measure,
    )
    at = Step(key=step.key, position=step.position, name=step.name)
    _store(draft, hazard, PlanDocument(steps=(at,)), (), {step.key: step.pk})
    return Hazard.objects.get(revision=draft, origin=hazard.key)


def _store(
    draft: PlanRevision,
    part: Part,
    around: PlanDocument,
    products: Sequence[Product],
    ids: dict[str, UUID] | None = None,
) -> None:
    """around: a document of what the part refers to, which is all that checking it needs."""
    refuse_problems([part], around.with_part(part))
    add_parts(draft, [part], Names(ids or {}, {product.code: product.pk for product in products}, {}))
