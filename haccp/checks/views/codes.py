"""The sheet of codes to be hung up, and a photograph."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render

from haccp.checks import codes
from haccp.checks.models import PhotoFile
from haccp.premises.queries import places_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def sheet(request: ScopedRequest) -> HttpResponse:
    return render(request, "checks/codes.html", {"codes": codes.sheet(list(places_of(request.scope.premises)))})


@needs(Right.READ)
def photo(request: ScopedRequest, photo_id: UUID) -> HttpResponse:
    found = PhotoFile.objects.filter(premises=request.scope.premises, id=photo_id).first()
    if found is None:
        raise Http404
    answer = HttpResponse(bytes(found.kept), content_type="image/jpeg")
    answer["Cache-Control"] = "private, max-age=86400, immutable"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
