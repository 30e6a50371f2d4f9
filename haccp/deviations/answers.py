"""What several operations and pages of deviations read and answer alike."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from haccp.deviations import api_shapes, queries
from haccp.deviations.models import Deviation
from haccp.premises.scope import Scope
from haccp.premises.uploads import read_upload


def here(scope: Scope, pk: UUID) -> Deviation:
    """The deviation of these premises, or 404."""
    return get_object_or_404(queries.deviations_of(scope.premises), pk=pk)


def detail_of(scope: Scope, pk: UUID) -> dict[str, Any]:
    """What happened, what is implicated, what was done and what is missing, as JSON."""
    deviation = here(scope, pk)
    led = queries.guide(deviation)
    shaped = api_shapes.DeviationDetailShape(
        {
            "deviation": deviation,
            "prescribed": deviation.control_point.corrective_action,
            "implicated": led.implicated,
            "steps": led.steps,
            "missing": led.missing,
            "content_sha256": led.content_sha256,
        }
    )
    return dict(shaped.data)


def evidence_sent(request: HttpRequest) -> tuple[bytes, str]:
    """A file of evidence and its name. Raises ActionError where there is none, TooLarge for one past the limit."""
    return read_upload(
        request,
        request.FILES.get("file"),
        missing="Choose the file: a photograph, a report, a letter.",
        remedy="Send a smaller picture, or the report in parts.",
    )


def kept_file(filename: str, content: bytes) -> HttpResponse:
    """Always as a download, and never as what the sender said it is: a file may hold anything."""
    answer = HttpResponse(content, content_type="application/octet-stream")
    name = "".join(one if one.isalnum() or one in "._- " else "_" for one in filename)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
