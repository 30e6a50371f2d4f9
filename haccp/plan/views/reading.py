"""The plan as a person reads it."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from haccp.plan.flow_diagram import flow_diagram
from haccp.plan.models import Check, ControlPoint, PlanRevision
from haccp.plan.queries import drafts_of, in_words, review_due_of, revision_in_force, revisions_approved
from haccp.plan.rows import read_plan
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.science.schedule import describe


@dataclass(frozen=True, slots=True)
class PointInWords:
    """A control point, and each of its checks with when it is done in words."""

    point: ControlPoint
    checks: tuple[tuple[Check, str], ...]


@needs(Right.READ)
def plan(request: ScopedRequest) -> HttpResponse:
    """The revision in force, or with ?revision=<number> another approved one."""
    scope, now = request.scope, timezone.now()
    in_force = revision_in_force(scope.premises, now)
    revision = _asked_for(request) or in_force
    drafts = list(drafts_of(scope.premises))
    context: dict[str, object] = {
        "revision": revision,
        "in_force": in_force,
        "drafts": drafts,
        "discarded": [one for one in drafts if one.is_discarded],
        "review": review_due_of(scope.premises, now),
        "today": scope.premises.local_date(now),
        "may_edit": scope.may(Right.EDIT_PLAN),
        "others": [one for one in revisions_approved(scope.premises) if revision is None or one.pk != revision.pk],
    }
    if revision is not None:
        words = in_words(revision)
        context |= {
            "plan": words,
            "flow": flow_diagram(read_plan(revision), title=f"Flow of {revision}", id_prefix="flow"),
            "critical": [_in_words(point) for point in words.critical],
            "prerequisites": [_in_words(point) for point in words.prerequisites],
        }
    return render(request, "plan/plan.html", context)


def _asked_for(request: ScopedRequest) -> PlanRevision | None:
    number = request.GET.get("revision", "")
    if not number:
        return None
    found = revisions_approved(request.scope.premises)
    return get_object_or_404(found, number=int(number) if number.isascii() and number.isdigit() else -1)


def _in_words(point: ControlPoint) -> PointInWords:
    return PointInWords(
        point,
        tuple(
            (check, describe(check.cadence, window_before_s=check.window_before_s, grace_s=check.grace_s))
            for check in point.checks.all()
        ),
    )
