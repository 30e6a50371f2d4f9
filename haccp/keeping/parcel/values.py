"""A column's value as JSON and back, exactly: what is sealed must hash as it did."""

import base64
import datetime as dt
import json
import uuid
from decimal import Decimal
from typing import Any

from django.db.models import BinaryField, Field, FileField, ForeignKey, JSONField

from haccp.ledger import canonical


def to_json(field: "Field[Any, Any]", value: Any) -> Any:
    """Moments as RFC 3339 in UTC with microseconds, decimals and UUIDs as text, bytes in base64, JSON as it is.

    Errors: TypeError for a kind of value that no column had so far.
    """
    if value is None or isinstance(field, JSONField):
        return value
    if isinstance(field, BinaryField):
        return base64.b64encode(bytes(value)).decode("ascii")
    if isinstance(field, FileField):
        return str(value)
    if isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return canonical.to_json(value)
    if isinstance(value, uuid.UUID | Decimal):
        return str(value)
    raise TypeError(f"{field} holds a {type(value).__name__}, which has no agreed form in an export")


def from_json(field: "Field[Any, Any]", value: Any) -> Any:
    """The inverse of to_json. Errors: ValueError or django's ValidationError for what the column cannot hold."""
    if value is None or isinstance(field, JSONField):
        return value
    if isinstance(field, BinaryField):
        return base64.b64decode(value, validate=True)
    if isinstance(field, ForeignKey):
        field = field.target_field
    return field.to_python(value)


def line_of(row: dict[str, Any]) -> bytes:
    """One line of JSON Lines."""
    return (
        json.dumps(row, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")).encode("utf-8")
        + b"\n"
    )
