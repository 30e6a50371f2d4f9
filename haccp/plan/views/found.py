"""What an address of the plan names, or 404."""

from uuid import UUID

from django.http import Http404
from django.utils import timezone

from haccp.plan.document import Part
from haccp.plan.models import PlanRevision
from haccp.plan.sections import BY_SLUG, Section, Shown
from haccp.plan.workspace import Workspace
from haccp.premises.scope import ScopedRequest


def revision_here(request: ScopedRequest, revision_id: UUID) -> PlanRevision:
    found = (
        PlanRevision.objects.for_premises(request.scope.premises)
        .select_related("premises", "approval", "drafted_by")
        .filter(pk=revision_id)
        .first()
    )
    if found is None:
        raise Http404
    return found


def workspace_here(request: ScopedRequest, revision_id: UUID) -> Workspace:
    return Workspace(request.scope, revision_here(request, revision_id), timezone.now())


def section_named(slug: str) -> Section:
    if slug not in BY_SLUG:
        raise Http404
    return BY_SLUG[slug]


def shown_in(section: Section, kind: str) -> Shown:
    """How a section shows a kind of part; 404 for a kind that it does not hold."""
    for one in section.shown:
        if one.kind == kind:
            return one
    raise Http404


def part_here(work: Workspace, section: Section, key: UUID) -> tuple[Part, str, Shown]:
    part = work.document.by_key.get(str(key))
    if part is None:
        raise Http404
    kind = work.document.kind_of[part.key]
    return part, kind, shown_in(section, kind)
