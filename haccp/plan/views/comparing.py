"""What a revision changes against another, in plain words."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from haccp.plan.models import PlanRevision
from haccp.plan.queries import differences_between, revision_in_force, revisions_approved
from haccp.plan.views.found import revision_here
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def differences(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """?with=<number> names another approved revision; else a draft is laid beside the one in force, and an approved
    one beside the one before it."""
    revision = revision_here(request, revision_id)
    others = [one for one in revisions_approved(request.scope.premises) if one.pk != revision.pk]
    asked = request.GET.get("with", "")
    other = next((one for one in others if str(one.number) == asked), None)
    if asked and other is None:
        raise Http404
    other = other or usual_counterpart(request, revision, others)
    context = {
        "revision": revision,
        "other": other,
        "others": others,
        "found": differences_between(other, revision) if other else [],
    }
    return render(request, "plan/differences.html", context)


def usual_counterpart(
    request: ScopedRequest, revision: PlanRevision, others: list[PlanRevision]
) -> PlanRevision | None:
    if not revision.is_approved:
        in_force = revision_in_force(request.scope.premises, timezone.now())
        return next((one for one in others if in_force is not None and one.pk == in_force.pk), None)
    return next((one for one in others if one.number < revision.number), None)
