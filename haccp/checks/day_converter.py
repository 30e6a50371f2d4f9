"""A calendar day in a URL: /days/2026-03-10/. Importing this module registers it as <day:...>."""

from datetime import date

from django.urls import register_converter

FIRST, LAST = date(1970, 1, 1), date(2200, 1, 1)


class DayConverter:
    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        """ValueError (a 404) for a day that no calendar has, or whose bounds no clock can hold."""
        day = date.fromisoformat(value)
        if not FIRST <= day < LAST:
            raise ValueError(f"{value} is no day of these records.")
        return day

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(DayConverter, "day")
