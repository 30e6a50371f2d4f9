"""A draft plan of the library, taken in as rows through the plan's own actions."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from haccp.plan import actions
from haccp.plan.document import PlanDocument, ProductNamed
from haccp.plan.library.as_document import plan_document
from haccp.plan.library.conditions import Answer
from haccp.plan.library.draft import draft_plan
from haccp.plan.library.joining import Joined
from haccp.plan.library.plan_draft import PlanDraft
from haccp.plan.library_store import library_ready
from haccp.plan.models import PlanRevision
from haccp.plan.places import places_named
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError


@dataclass(frozen=True, slots=True)
class DraftedPlan:
    revision: PlanRevision
    draft: PlanDraft


@transaction.atomic
def plan_draft_from_answers(
    *, scope: Scope, answers: Mapping[str, Answer], product_name: str, product_code: str, at: datetime
) -> DraftedPlan:
    """A new draft revision for one cheese, with every part that the answers lead to.

    The cheese is added where the dairy lacks it. Limits that are the producer's to set are left out and asked about;
    an unanswered question blocks approval. Borrowed values bear their source.
    Raises NotAllowed; ActionError for answers that cannot be used; Conflict for a
    code that stands for another cheese here.
    """
    document, draft = _drafted(scope, answers, product_name, product_code, at)
    return DraftedPlan(actions.plan_take_in(scope=scope, document=document, at=at), draft)


@transaction.atomic
def cheese_draft_beside(
    *,
    scope: Scope,
    in_force: PlanRevision,
    answers: Mapping[str, Answer],
    product_name: str,
    product_code: str,
    at: datetime,
) -> tuple[PlanRevision, Joined]:
    """A new draft: the revision in force, with one more cheese. Raises as cheese_add_from_answers."""
    draft = actions.revision_copy(scope=scope, change_summary="", at=at, source=in_force)
    joined = cheese_add_from_answers(
        scope=scope, revision=draft, answers=answers, product_name=product_name, product_code=product_code, at=at
    )
    return draft, joined


@transaction.atomic
def cheese_add_from_answers(
    *,
    scope: Scope,
    revision: PlanRevision,
    answers: Mapping[str, Answer],
    product_name: str,
    product_code: str,
    at: datetime,
) -> Joined:
    """One more cheese in a draft that is at hand; what was edited there stays. Raises as plan_draft_from_answers and
    plan_join."""
    document, _draft = _drafted(scope, answers, product_name, product_code, at)
    return actions.plan_join(scope=scope, revision=revision, other=document, at=at)


def _drafted(
    scope: Scope, answers: Mapping[str, Answer], product_name: str, product_code: str, at: datetime
) -> tuple[PlanDocument, PlanDraft]:
    scope.require(Right.EDIT_PLAN)
    library = library_ready(at=at)
    try:
        draft = draft_plan(answers, library, on=scope.premises.local_date(at))
    except InputError as error:
        raise ActionError(str(error), field="answers") from error
    product = ProductNamed(
        code=product_code.strip(),
        name=product_name.strip(),
        species=str(draft.answers["species"]),
        treatment=str(draft.answers["treatment"]),
        family=library.families[str(draft.answers["family"])].name,
    )
    for field, value, most in (("product_name", product.name, 120), ("product_code", product.code, 8)):
        if not 0 < len(value) <= most:
            raise ActionError(f"Give 1 to {most} characters.", field=field)
    return plan_document(draft, library, product=product, places=places_named(scope.premises)), draft
