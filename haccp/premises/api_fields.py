"""Kinds of value that several operations of the API take."""

from datetime import UTC, datetime
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
LATEST = datetime(2200, 1, 1, tzinfo=UTC)


@extend_schema_field({"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?$"})
class ClockTime(serializers.TimeField):
    """A time of day on the premises' clock, such as 06:30. It has no offset, which the format `time` would ask for."""


class Moment(serializers.DateTimeField):
    """A time with its offset. Without one it could mean either of two hours, and which clock it was read from."""

    def to_internal_value(self, value: Any) -> datetime:
        moment = super().to_internal_value(value)
        if not EARLIEST <= moment < LATEST:
            raise serializers.ValidationError("No dairy kept records then; correct the time.", code="implausible")
        return moment

    def enforce_timezone(self, value: datetime) -> datetime:
        if value.utcoffset() is None:
            raise serializers.ValidationError("Give the time with its offset, such as 2026-03-10T07:05:00Z.")
        return super().enforce_timezone(value)
