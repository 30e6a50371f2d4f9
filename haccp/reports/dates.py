"""Moments and days as a pack writes them: in the premises' time zone, months in words."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from haccp.reports.languages import wording


def day_words(day: date) -> str:
    return f"{day.day} {wording().months[day.month - 1]} {day.year}"


@dataclass(frozen=True, slots=True)
class LocalTime:
    zone: ZoneInfo

    def moment(self, at: datetime) -> str:
        local = at.astimezone(self.zone)
        return f"{day_words(local.date())}, {local:%H:%M}"

    def short(self, at: datetime) -> str:
        """For table cells, the day above the time."""
        local = at.astimezone(self.zone)
        return f"{local.day} {wording().months[local.month - 1]} {local:%y}\n{local:%H:%M}"

    def one_line(self, at: datetime) -> str:
        return self.short(at).replace("\n", ", ")

    def span(self, first: date, last: date) -> str:
        """Both days included; one day once."""
        return day_words(first) if first == last else f"{day_words(first)} – {day_words(last)}"

    def day(self, at: datetime) -> str:
        return day_words(at.astimezone(self.zone).date())
