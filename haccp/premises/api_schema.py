"""What the OpenAPI document says beyond the shapes: the two ways of speaking to the API, and how it refuses."""

from collections.abc import Iterator
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension

from haccp.premises.api_access import DeviceTokenAuthentication, SignedInAuthentication

ERROR = {
    "type": "object",
    "description": "Every refusal has this shape.",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["code", "message", "fields"],
            "properties": {
                "code": {"type": "string", "description": "For programs: bad_input, refused, conflict, ..."},
                "message": {"type": "string", "description": "For people: what is wrong and what to do"},
                "fields": {
                    "type": "object",
                    "additionalProperties": {},
                    "description": "Name of what was sent -> the sentences that concern it; empty when it is the whole",
                },
            },
        }
    },
}
ALWAYS = {
    "401": "Nobody is named: the token is missing, unknown or revoked",
    "403": "The person's role does not include this",
    "503": "The database does not answer, is busy or full: send the same again after Retry-After",
}
READING = {"400": "A value in the address cannot be used", "404": "There is no such thing at this dairy"}
WRITING = {
    "400": "What was sent cannot be used; nothing was stored",
    "404": "There is no such thing at this dairy",
    "409": "Somebody was first, or the same id or Idempotency-Key came with other content",
    "413": "More was sent at once than is taken",
    "415": "The body is of another type than the operation takes",
}
METHODS = {"get": READING, "post": WRITING, "put": WRITING, "patch": WRITING, "delete": WRITING}


class DeviceTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = DeviceTokenAuthentication
    name = "deviceToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": "Token <device token>"}


class SignedInScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = SignedInAuthentication
    name = "signedIn"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


def declare_refusals(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """drf-spectacular's postprocessing hook: the refusals that each operation may give, all in one shape.

    An operation that names one of them itself keeps its own words.
    """
    result.setdefault("components", {}).setdefault("schemas", {})["Error"] = ERROR
    for method, operation in _operations(result):
        responses = operation["responses"]
        may_give = METHODS[method] if method != "get" or operation.get("parameters") else {}
        for code, description in (ALWAYS | may_give).items():
            responses.setdefault(code, _refusal(description))
        operation["responses"] = dict(sorted(responses.items()))
    return result


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in document["paths"].values():
        for method, operation in path.items():
            if method in METHODS:
                yield method, operation


def _refusal(description: str) -> dict[str, Any]:
    return {
        "description": description,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Error"}}},
    }
