"""Values asked for in a query string, or a sentence when they cannot be read."""

from datetime import datetime
from uuid import UUID

from django.utils.dateparse import parse_datetime
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request

from haccp.premises.api_fields import EARLIEST, LATEST


def moment_asked(request: Request, name: str) -> datetime | None:
    """An ISO 8601 time with its offset."""
    text = request.query_params.get(name)
    if not text:
        return None
    # A "+" that was not escaped arrives as a space.
    moment = _parsed(text.replace(" ", "+"))
    if moment is None or moment.tzinfo is None or not _within_records(moment):
        raise ValidationError({name: "Give a time with its offset, such as 2026-03-10T07:05:00Z."})
    return moment


def uuid_asked(request: Request, name: str) -> UUID | None:
    text = request.query_params.get(name)
    if not text:
        return None
    try:
        return UUID(text)
    except ValueError:
        raise ValidationError({name: "This is not an id."}) from None


def _within_records(moment: datetime) -> bool:
    return EARLIEST <= moment < LATEST


def _parsed(text: str) -> datetime | None:
    try:
        return parse_datetime(text)
    except ValueError:
        return None
