"""A whole plan taken in from a file."""

import dataclasses
from datetime import datetime

from django.db import transaction

from haccp.plan.actions.products import product_add
from haccp.plan.actions.revisions import revision_bare
from haccp.plan.document import PlanDocument
from haccp.plan.document.file import read_file
from haccp.plan.document.validity import in_words, problems_in
from haccp.plan.findings.limits import contradictions
from haccp.plan.models import PlanRevision, Product
from haccp.plan.rows import HEADER, Names, add_parts
from haccp.premises.actions import place_add
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science import flow
from haccp.science.errors import InputError

PROBLEMS_SHOWN = 5


@transaction.atomic
def plan_import(*, scope: Scope, content: bytes, at: datetime) -> PlanRevision:
    """A new draft of a plan file, with the products and places that it names where the dairy lacks them.

    All or nothing. Raises ActionError on field "file" for a file that is no plan, of a newer schema or above 10 MB,
    for parts that could not be stored or judged, contradictory limits and a flow in a circle; Conflict for a product
    whose code stands for another here; and NotAllowed for places to add by somebody who may not.
    """
    scope.require(Right.EDIT_PLAN)
    try:
        document = read_file(content)
    except InputError as error:
        raise ActionError(str(error), field="file") from error
    return plan_take_in(scope=scope, document=document, at=at)


@transaction.atomic
def plan_take_in(*, scope: Scope, document: PlanDocument, at: datetime) -> PlanRevision:
    """As plan_import, of a document that is at hand: a starting plan of the library, for instance."""
    scope.require(Right.EDIT_PLAN)
    refuse_defective(document)
    ensure_products(scope, document, at)
    _places(scope, document)
    draft = revision_bare(scope=scope, scope_statement="", change_summary="", at=at)
    for name in HEADER:
        setattr(draft, name, getattr(document, name))
    draft.save(update_fields=HEADER)
    add_parts(draft, (part for _, part in document.parts()), Names.of(draft))
    return draft


def refuse_defective(document: PlanDocument) -> None:
    sentences = [in_words(problem, document) for problem in problems_in(document)]
    if not sentences:
        sentences += [
            f"The limits “{one.statement}” and “{other.statement}” cannot both be met; correct one of them."
            for one, other in contradictions(document.limits)
        ]
        sentences += [
            f"The flow leads in a circle that is not rework: {' → '.join(map(document.title_of, knot))}; mark the "
            "link that leads back as rework."
            for knot in flow.cycles(document.flow)
        ]
    if sentences:
        rest = len(sentences) - PROBLEMS_SHOWN
        more = f" And {rest} more." if rest > 0 else ""
        raise ActionError(f"{' '.join(sentences[:PROBLEMS_SHOWN])}{more} Nothing was taken in.", field="file")


def ensure_products(scope: Scope, document: PlanDocument, at: datetime) -> None:
    """Adds the cheeses that the dairy lacks. Raises Conflict for a code that stands for another here."""
    here = {product.code: product for product in Product.objects.filter(premises=scope.premises)}
    for wanted in document.products:
        there = here.get(wanted.code)
        if there is None:
            product_add(scope=scope, at=at, **dataclasses.asdict(wanted))
        elif (there.species, there.treatment) != (wanted.species, wanted.treatment):
            raise Conflict(
                f"The code {wanted.code} stands for {there.name} ({there.species}, {there.treatment}) here, and for "
                f"{wanted.name} ({wanted.species}, {wanted.treatment}) in the file; change the code in the file.",
                field="file",
            )


def _places(scope: Scope, document: PlanDocument) -> None:
    here = set(Place.objects.filter(premises=scope.premises).values_list("name", flat=True))
    for wanted in document.places:
        if wanted.name not in here:
            place_add(scope=scope, name=wanted.name, kind=wanted.kind, walking_order=wanted.walking_order)
