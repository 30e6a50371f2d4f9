"""That the flow was walked and found as drawn, signed."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.plan import actions
from haccp.plan.document.fingerprint import flow_sha256
from haccp.plan.forms.standing import ConfirmationForm
from haccp.plan.views.found import revision_here, section_named, workspace_here
from haccp.plan.views.section import section_page
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.EDIT_PLAN)
@require_POST
def confirm(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    revision = revision_here(request, revision_id)
    sent = request.POST.copy()
    form, status = ConfirmationForm(sent), 0
    if form.is_valid():
        try:
            actions.flow_confirm(scope=request.scope, revision=revision, at=timezone.now(), **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The flow is confirmed and signed.")
            return redirect("plan:section", revision.pk, "confirmation")
    work = workspace_here(request, revision_id)
    # What is signed next is what this page shows now.
    sent["seen_sha256"] = flow_sha256(work.document)
    return section_page(request, work, section_named("confirmation"), form=form, status=status)
