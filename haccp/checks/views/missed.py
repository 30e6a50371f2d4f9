"""A check that nobody did: why, and what followed."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect

from haccp.checks import actions, queries
from haccp.checks.forms.signing import ReasonForm
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def missed(request: ScopedRequest, missed_id: UUID) -> HttpResponse:
    found = queries.missed_in_full(request.scope.premises, missed_id)
    if found is None:
        raise Http404
    form = ReasonForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.missed_reason_give(scope=request.scope, missed_id=found.id, text=form.cleaned_data["text"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The reason is recorded.")
            return redirect("checks:missed", found.id)
    context: dict[str, object] = {
        "missed": found,
        "reason": getattr(found, "reason", None),
        "record": queries.record_of_due(found.due),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render_form(request, "checks/missed.html", context, form=form, status=status)
