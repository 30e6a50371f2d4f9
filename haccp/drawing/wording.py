"""The few words that pictures write themselves, so that a caller can hand them over translated."""

from dataclasses import dataclass
from datetime import datetime

ENGLISH_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Wording:
    """Sentences take named fields in braces. date: fields day, month (a name from months), year."""

    months: tuple[str, ...] = ENGLISH_MONTHS
    date: str = "{day} {month} {year}"
    short_date: str = "{day} {month}"
    decimal_point: str = "."
    limit: str = "{value} {unit} limit"
    target: str = "{value} {unit} target"
    air_space_limit: str = "{value} {unit} air limit"
    at_least: str = "≥ {value} {unit}"
    at_most: str = "≤ {value} {unit}"
    product: str = "Product"
    air_space: str = "Air space"
    hold: str = "Hold {duration}"
    lowest: str = "lowest {value} {unit}, {time}"
    at_most_by: str = "≤ {value} by {elapsed}"
    at_least_by: str = "≥ {value} by {elapsed}"
    no_record: str = "no record"
    missed: str = "missed {date} {time}"
    missed_many: str = "{count} missed checks"
    since: str = "time since {event} ({unit})"
    days: str = "d"
    hours: str = "h"
    minutes: str = "min"
    seconds: str = "s"

    def date_of(self, local: datetime) -> str:
        return self.date.format(day=local.day, month=self.months[local.month - 1], year=local.year)

    def short_date_of(self, local: datetime) -> str:
        return self.short_date.format(day=local.day, month=self.months[local.month - 1], year=local.year)

    def number(self, value: float, decimals: int) -> str:
        """Written with this wording's decimal sign and a true minus."""
        text = f"{value:.{decimals}f}"
        if float(text) == 0:
            text = text.lstrip("-")
        return text.replace("-", "−").replace(".", self.decimal_point)

    def duration(self, seconds: float) -> str:
        """Two largest units: "30 min 12 s", "2 d 4 h"; never rounded up."""
        whole = int(seconds)
        parts = [
            (whole // 86400, self.days),
            (whole // 3600 % 24, self.hours),
            (whole // 60 % 60, self.minutes),
            (whole % 60, self.seconds),
        ]
        first = next((i for i, (count, _) in enumerate(parts) if count), len(parts) - 1)
        shown = [f"{count} {unit}" for count, unit in parts[first : first + 2] if count]
        return " ".join(shown) or f"0 {self.seconds}"


ENGLISH = Wording()
