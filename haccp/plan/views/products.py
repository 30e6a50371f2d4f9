"""A cheese that the plan is to speak of."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from haccp.plan import actions
from haccp.plan.forms.standing import ProductForm
from haccp.plan.views.found import workspace_here
from haccp.premises.errors import ActionError
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
