"""Every refusal of the API in one shape: {"error": {"code", "message", "fields"}}."""

from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from haccp.premises.errors import ActionError, Conflict, NotAllowed, TooLarge
from haccp.science.errors import InputError


def answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's EXCEPTION_HANDLER. Actions' errors become 400, 403 or 409; None (a 500) only for what nobody foresaw."""
    if isinstance(error, ActionError):
        set_rollback()
        code, http = _action_code(error)
        return _shape(code, error.message, {key: [text] for key, text in error.fields.items()}, http)
    if isinstance(error, InputError):
        set_rollback()
        return _shape("bad_input", str(error), {}, status.HTTP_400_BAD_REQUEST)
    if isinstance(error, SuspiciousOperation):
        set_rollback()
        return _suspicious(error)
    response = exception_handler(error, context)
    if response is None:
        return None
    shaped = _shape(_code(error), _message(error, response.data), _fields(response.data), response.status_code)
    for header in ("WWW-Authenticate", "Retry-After"):
        if header in response.headers:
            shaped.headers[header] = response.headers[header]
    return shaped


def _action_code(error: ActionError) -> tuple[str, int]:
    if isinstance(error, NotAllowed):
        return "not_allowed", status.HTTP_403_FORBIDDEN
    if isinstance(error, Conflict):
        return "conflict", status.HTTP_409_CONFLICT
    if isinstance(error, TooLarge):
        return "too_large", status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    return "refused", status.HTTP_400_BAD_REQUEST


def _suspicious(error: SuspiciousOperation) -> Response:
    """Django's own limits on a request, met while it was read."""
    if isinstance(error, RequestDataTooBig):
        return _shape("too_large", "More was sent at once than is taken.", {}, status.HTTP_413_REQUEST_ENTITY_TOO_LARGE)
    return _shape("bad_request", "This request cannot be read.", {}, status.HTTP_400_BAD_REQUEST)


def _code(error: Exception) -> str:
    if isinstance(error, Http404):
        return "not_found"
    if isinstance(error, PermissionDenied | exceptions.PermissionDenied):
        return "not_allowed"
    if isinstance(error, exceptions.ValidationError):
        return "bad_input"
    return str(getattr(error, "default_code", "error"))


def _message(error: Exception, data: Any) -> str:
    if isinstance(error, exceptions.ValidationError):
        return "Some of what was sent cannot be used; see fields."
    return str(data.get("detail", error)) if isinstance(data, dict) else str(error)


def _fields(data: Any) -> dict[str, Any]:
    if isinstance(data, dict):
        return {key: value for key, value in data.items() if key != "detail"}
    return {"non_field_errors": data} if isinstance(data, list) else {}


def error_body(code: str, message: str, fields: dict[str, Any] | None = None) -> dict[str, Any]:
    """The one shape, for answers that no API view gives."""
    return {"error": {"code": code, "message": message, "fields": fields or {}}}


def _shape(code: str, message: str, fields: dict[str, Any], http: int) -> Response:
    return Response(error_body(code, message, fields), status=http)
