"""A calendar day in a URL: /days/2026-03-10/."""

from datetime import date

from django.urls import register_converter
from django.urls.converters import get_converters

FIRST, LAST = date(1970, 1, 1), date(2200, 1, 1)


class DayConverter:
    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        """ValueError (a 404) for a day that no calendar has, or whose bounds no clock can hold."""
        day = date.fromisoformat(value)
        if not FIRST <= day < LAST:
            raise ValueError(f"{value} is no day of these records.")
        return day

    def to_url(self, value: date | str) -> str:
        return value if isinstance(value, str) else value.isoformat()


def register() -> None:
    """Makes <day:...> known; pages and API both ask for it, and Django wants to be told once."""
    if "day" not in get_converters():
        register_converter(DayConverter, "day")
