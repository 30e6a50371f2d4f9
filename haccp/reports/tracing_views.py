"""The PDFs of a trace and of a recall, made while the page waits: a few sheets."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from batches.recall.findings import findings
from batches.recall.queries import course_of, recalls_of
from batches.tracing.graph import sent_of, trace_of
from haccp.lots.queries import lots_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.reports.layout.recall import recall_pdf as recall_bytes
from haccp.reports.layout.trace import trace_pdf as trace_bytes
from haccp.reports.signing import signed


@needs(Right.READ)
def trace_pdf(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    premises = request.scope.premises
    lot = get_object_or_404(lots_of(premises), pk=lot_id)
    trace = trace_of(premises, lot, reader=request.scope.user)
    made = trace_bytes(premises, trace, sent_of(trace.lots), made_at=timezone.now())
    return _pdf(signed(made, premises=premises.name), f"trace-{lot.code}.pdf")


@needs(Right.READ)
def recall_pdf(request: ScopedRequest, recall_id: UUID) -> HttpResponse:
    """404 before a lot is chosen: there is nothing to print yet."""
    premises = request.scope.premises
    course = course_of(get_object_or_404(recalls_of(premises), pk=recall_id))
    if course.chosen is None or course.chosen.lot is None:
        raise Http404
    found = findings(premises, course.chosen.lot, course.chosen.reach, course.chosen.at)
    made = recall_bytes(premises, course, found, made_at=timezone.now())
    return _pdf(signed(made, premises=premises.name), f"recall-{found.lot.code}.pdf")


def _pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
