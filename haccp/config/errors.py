"""Pages for requests that went wrong before any view saw them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form's token is old or missing. What was typed is shown back, so that nothing is lost."""
    typed = [(key, value) for key, value in request.POST.items() if key != "csrfmiddlewaretoken" and value]
    return render(request, "csrf_failure.html", {"typed": typed}, status=403)
