"""One more cheese joined to a draft."""

from datetime import datetime

from django.db import transaction
from django.db.models import F

from haccp.plan.actions.editable import editable
from haccp.plan.actions.files import ensure_products, refuse_defective
from haccp.plan.document import PlanDocument
from haccp.plan.library.joining import Joined, join
from haccp.plan.models import PlanRevision, ProcessStep
from haccp.plan.places import with_places_of
from haccp.plan.rows import Names, add_parts, change_part, read_plan
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.scope import Scope

OUT_OF_THE_WAY = 20_000


@transaction.atomic
def plan_join(*, scope: Scope, revision: PlanRevision, other: PlanDocument, at: datetime) -> Joined:
    """Adds a plan of one more cheese to a draft, and notes in the draft's words what was added.

    What was edited stays as it is; parts that spoke of all cheeses are narrowed to those that were there. All or
    nothing. Raises ActionError for a draft that is approved or discarded and for a joint plan that could not be
    stored; Conflict for a cheese that the draft describes already, and for a code that stands for another.
    """
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    draft = editable(scope, revision)
    plan = with_places_of(read_plan(draft), scope.premises)
    product = other.products[0]
    if any(description.product == product.code for description in plan.descriptions):
        raise Conflict(f"{draft} speaks of {product.code} already; choose another code.", field="product_code")
    joined = join(plan, other)
    refuse_defective(joined.document)
    ensure_products(scope, other, at)
    names = Names.of(draft)
    add_parts(draft, joined.added, names)
    for part in joined.changed:
        change_part(draft, part, names)
    _put_in_order(draft, joined, names)
    draft.change_summary = f"{draft.change_summary}\n{joined.summary}".strip()
    draft.save(update_fields=["change_summary"])
    if read_plan(draft).by_key.keys() != joined.document.by_key.keys():
        raise ActionError("The draft was changed meanwhile; try again.")
    return joined


def _put_in_order(draft: PlanRevision, joined: Joined, names: Names) -> None:
    """Positions are unique, so the steps are moved out of the way first."""
    steps = ProcessStep.objects.filter(revision=draft)
    steps.update(position=F("position") + OUT_OF_THE_WAY)
    for position, key in enumerate(joined.order, start=1):
        steps.filter(pk=names.ids[key]).update(position=position)
