"""Approval: what blocks, what changes, what it means for batches in progress, and the signature."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from haccp.ledger.canonical import sha256_of
from haccp.plan import actions, consequences
from haccp.plan.actions.revisions import APPROVAL_STATEMENT
from haccp.plan.differences import differences
from haccp.plan.document.file import as_json
from haccp.plan.forms.standing import ApproveForm
from haccp.plan.queries import revision_in_force
from haccp.plan.rows import read_plan
from haccp.plan.views.findings import by_rule, grouped
from haccp.plan.views.found import workspace_here
from haccp.plan.workspace import Workspace
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
@require_GET
def approval(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Everybody may see what an approval would do."""
    work = workspace_here(request, revision_id)
    if work.revision.is_approved:
        return redirect("plan:workspace", work.revision.pk)
    return _page(request, work, ApproveForm(initial={"seen_sha256": seen(work)}))


@needs(Right.APPROVE_PLAN)
@require_POST
def approve(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Signs; a refusal keeps what was typed, and signs what the page shows then."""
    work = workspace_here(request, revision_id)
    sent = request.POST.copy()
    form, status = ApproveForm(sent), 0
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
        else:
            messages.success(
                request,
                f"{work.revision} is approved and signed. Its checks fall due as the plan says, from its start.",
            )
            return redirect("plan:plan")
    # What is signed next is what this page shows now.
    sent["seen_sha256"] = seen(work)
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
        "blocking": by_rule(groups[0][2]),
        "warnings": by_rule(groups[1][2]),
        "warning_count": len(groups[1][2]),
        "in_force": in_force,
        "found": differences(read_plan(in_force), work.as_stored) if in_force else [],
        "in_progress": consequences.in_progress_before(work.revision),
        "statement": APPROVAL_STATEMENT,
        "may_approve": request.scope.may(Right.APPROVE_PLAN),
    }
    return render_form(request, "plan/approval.html", context, form=form, status=status)
