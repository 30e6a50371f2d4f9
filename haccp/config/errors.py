"""Answers to requests that went wrong where no view could say so: pages for people, JSON for devices."""

import sys
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views import defaults
from django.views.decorators.csrf import csrf_exempt

from haccp.config import unavailable
from haccp.premises.api_errors import error_body
from haccp.premises.refusals import typed_values

API_PREFIX = "/api/"


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form's token is old or missing. What was typed is shown back, so that nothing is lost; secrets are not."""
    if _is_api(request):
        return _refusal("csrf", "The form's token is old or missing; reload the page and send it again.", 403)
    return render(request, "csrf_failure.html", {"typed": typed_values(request)}, status=403)


@csrf_exempt
def no_such_operation(request: HttpRequest, rest: str = "") -> HttpResponse:
    """Any address under /api/ that no operation has, so that a device never has to read a page."""
    return _refusal(
        "not_found",
        f"There is no operation at {request.path}. Addresses end with a slash; /api/v1/openapi.json lists them.",
        404,
    )


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    if _is_api(request):
        return _refusal("bad_request", "This request cannot be read.", 400)
    return defaults.bad_request(request, exception)


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    if _is_api(request):
        return _refusal("not_allowed", "Your role here does not include this; ask the owner of the dairy.", 403)
    return render(request, "not_allowed.html", {"reason": str(exception)}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if _is_api(request):
        return no_such_operation(request)
    return defaults.page_not_found(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """Called while the exception is being handled, whichever layer of the middleware it came from."""
    cause = unavailable.cause_of(sys.exc_info()[1])
    if cause is not None:
        return _unavailable(request, cause)
    if _is_api(request):
        return _refusal(
            "server_error",
            "Something failed on our side. Send the same request again under the same id and Idempotency-Key: "
            "it is never done twice.",
            500,
        )
    return defaults.server_error(request)


def _unavailable(request: HttpRequest, cause: unavailable.Cause) -> HttpResponse:
    if not _is_api(request):
        return unavailable.page(request, cause)
    answer = _refusal(*unavailable.problem(cause), 503)
    answer["Retry-After"] = str(unavailable.RETRY_AFTER_S)
    return answer


def _is_api(request: HttpRequest) -> bool:
    return request.path.startswith(API_PREFIX)


def _refusal(code: str, message: str, status: int) -> JsonResponse:
    body: dict[str, Any] = error_body(code, message)
    return JsonResponse(body, status=status)
