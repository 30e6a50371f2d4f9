"""A revision with its twelve steps, and how far each has come."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render

from haccp.plan.views.found import workspace_here
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def workspace(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    work = workspace_here(request, revision_id)
    lines = work.lines()
    context = {
        "work": work,
        "revision": work.revision,
        "steps": [line for line in lines if line.section.number],
        "beside": [line for line in lines if not line.section.number],
        "blocking": sum(line.blocking for line in lines),
        "open_questions": sum(1 for one in work.document.judgements if one.is_open),
        "may_approve": request.scope.may(Right.APPROVE_PLAN),
    }
    return render(request, "plan/workspace.html", context)
