"""A device that speaks to the API as one person, and the bodies it sends."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from haccp.premises.actions import device_add
from haccp.premises.scope import Scope
from tests.dairy import Dairy

ROOT = "/api/v1/"


class Device:
    """Sends with a real token. Answers are the client's responses; `.json()` of one is its body."""

    def __init__(self, scope: Scope, name: str = "tablet at the vat") -> None:
        self.scope = scope
        self.row, self.token = device_add(scope=scope, name=name)
        self.client = APIClient()
        self.client.credentials(HTTP_AUTHORIZATION=f"Token {self.token}")

    def get(self, path: str, **asked: str) -> Any:
        return self.client.get(ROOT + path, asked)

    def post(self, path: str, body: Any, *, key: str = "") -> Any:
        headers = {"Idempotency-Key": key} if key else {}
        return self.client.post(ROOT + path, body, format="json", headers=headers)

    def upload(self, content: bytes, *, name: str, trace_id: UUID | None = None, key: str = "", **fields: str) -> Any:
        body = {"id": str(trace_id or uuid4()), "file": SimpleUploadedFile(name, content), **fields}
        headers = {"Idempotency-Key": key} if key else {}
        return self.client.post(ROOT + "recorder-files/", body, format="multipart", headers=headers)


def iso(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def record_body(dairy: Dairy, check: str, *values: tuple[str, str] | str, at: datetime, **more: Any) -> dict[str, Any]:
    """A record as a device sends it: values in the order of the check's measures."""
    return {
        "id": str(uuid4()),
        "check_id": str(dairy.check(check).id),
        "observed_at": iso(at),
        "entries": [
            {"measure": str(measure), "text": entry.text, "unit": entry.unit}
            for measure, entry in dairy.entries(check, *values).items()
        ],
    } | more


def room_body(dairy: Dairy, *values: tuple[str, str] | str, at: datetime, **more: Any) -> dict[str, Any]:
    """A reading of the ripening room with the dairy's thermometer."""
    return record_body(
        dairy, "Room 1 temperature", *values, at=at, **({"instrument": str(dairy.thermometer.id)} | more)
    )


def refusal(response: Any, status: int, code: str) -> dict[str, Any]:
    """The error of an answer, which has this status, code and the one shape."""
    assert response.status_code == status, response.content
    body = response.json()
    assert set(body) == {"error"}
    error: dict[str, Any] = body["error"]
    assert set(error) == {"code", "message", "fields"}
    assert error["code"] == code
    assert isinstance(error["message"], str)
    assert error["message"]
    assert isinstance(error["fields"], dict)
    return error
