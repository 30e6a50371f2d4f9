"""Approval: what blocks, what changes, what it means for batches in progress, and the signature."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from haccp.ledger.canonical import sha256_of
from haccp.plan import actions, consequences
from haccp.plan.actions.revisions import APPROVAL_STATEMENT
from haccp.plan.document.file import as_json
from haccp.plan.forms.standing import ApproveForm
from haccp.plan.queries import differences_between, revision_in_force
from haccp.plan.views.findings import grouped
from haccp.plan.views.found import workspace_here
from haccp.plan.workspace import Workspace
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def approval(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Everybody may see what an approval would do; who may approve signs here."""
    work = workspace_here(request, revision_id)
    if work.revision.is_approved and request.method != "POST":
        return redirect("plan:workspace", work.revision.pk)
    if request.method != "POST":
        return _page(request, work, ApproveForm(initial={"seen_sha256": seen(work)}))
    request.scope.require(Right.APPROVE_PLAN)
    form, status = ApproveForm(request.POST), 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.revision_approve(
                scope=request.scope,
                revision=work.revision,
                effective_from=typed["effective_from"],
                password=typed["password"],
                at=timezone.now(),
                seen_plan_sha256=typed["seen_sha256"],
            )
        except ActionError as error:
            status = refuse(form, error)
            work = workspace_here(request, revision_id)
        else:
            messages.success(
                request,
                f"{work.revision} is approved and signed. Its checks fall due as the plan says, from its start.",
            )
            return redirect("plan:plan")
    return _page(request, work, form, status)


def seen(work: Workspace) -> str:
    """Of the plan as this page showed it."""
    return sha256_of(as_json(work.as_stored))


def _page(request: ScopedRequest, work: Workspace, form: ApproveForm, status: int = 0) -> HttpResponse:
    in_force = revision_in_force(request.scope.premises, timezone.now())
    groups = grouped(work)
    context: dict[str, object] = {
        "work": work,
        "revision": work.revision,
        "blocking": groups[0][2],
        "warnings": groups[1][2],
        "in_force": in_force,
        "found": differences_between(in_force, work.revision) if in_force else [],
        "in_progress": consequences.in_progress_before(work.revision),
        "statement": APPROVAL_STATEMENT,
        "may_approve": request.scope.may(Right.APPROVE_PLAN),
    }
    return render_form(request, "plan/approval.html", context, form=form, status=status)
