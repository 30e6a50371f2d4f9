"""Pages for requests that went wrong before any view saw them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from haccp.premises.refusals import typed_values


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form's token is old or missing. What was typed is shown back, so that nothing is lost."""
    return render(request, "csrf_failure.html", {"typed": typed_values(request)}, status=403)
