"""A calendar day in a URL: /days/2026-03-10/."""

from datetime import date

from django.urls import register_converter


class DayConverter:
    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        """ValueError (a 404) for a day that no calendar has."""
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(DayConverter, "day")
