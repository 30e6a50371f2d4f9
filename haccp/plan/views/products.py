"""The cheeses that the plan is to speak of."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.plan import actions
from haccp.plan.forms.standing import ProductForm
from haccp.plan.models import Product
from haccp.plan.views.found import workspace_here
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.EDIT_PLAN)
def product_add(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Adds the cheese to the dairy; the draft then asks for its description."""
    work = workspace_here(request, revision_id)
    form, status = ProductForm(request.POST or None), 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.product_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{form.cleaned_data['name']} is added. Now describe it.")
            return redirect("plan:section", work.revision.pk, "product")
    context: dict[str, object] = {"work": work, "revision": work.revision, "section": None}
    return render_form(request, "plan/product_add.html", context, form=form, status=status)


@needs(Right.EDIT_PLAN)
@require_POST
def product_retire(request: ScopedRequest, revision_id: UUID, product_id: UUID) -> HttpResponse:
    return _done(
        request,
        revision_id,
        lambda: actions.product_retire(scope=request.scope, product_id=product_id, at=timezone.now()),
        "is no longer made. Batches that were begun stay as they are.",
    )


@needs(Right.EDIT_PLAN)
@require_POST
def product_restore(request: ScopedRequest, revision_id: UUID, product_id: UUID) -> HttpResponse:
    return _done(
        request,
        revision_id,
        lambda: actions.product_restore(scope=request.scope, product_id=product_id),
        "is made again; the plan has to describe it.",
    )


def _done(request: ScopedRequest, revision_id: UUID, act: Callable[[], Product], words: str) -> HttpResponse:
    work = workspace_here(request, revision_id)
    try:
        product = act()
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{product} {words}")
    return redirect("plan:section", work.revision.pk, "product")
