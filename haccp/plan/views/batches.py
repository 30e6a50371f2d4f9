"""Batches in progress that stand under another revision than this one, and what a move would change for each."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from haccp.plan import consequences
from haccp.plan.queries import revision_in_force
from haccp.plan.views.found import revision_here
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def batches(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    revision = revision_here(request, revision_id)
    in_force = revision_in_force(request.scope.premises, timezone.now())
    context = {
        "revision": revision,
        "in_progress": consequences.in_progress_before(revision),
        "may_move": request.scope.may(Right.APPROVE_PLAN) and revision == in_force,
    }
    return render(request, "plan/batches.html", context)
