"""A table as it can be taken away: named, with the unit and the source of each column."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from haccp.checks.queries import day_bounds
from haccp.premises.models import Premises

Value = str | float | int | date | datetime | None


@dataclass(frozen=True, slots=True)
class Days:
    """Local days, both included, with their bounds in UTC, the end excluded."""

    first: date
    last: date
    start: datetime
    end: datetime

    @classmethod
    def of(cls, premises: Premises, first: date, last: date) -> "Days":
        return cls(first, last, day_bounds(premises, first)[0], day_bounds(premises, last)[1])


@dataclass(frozen=True, slots=True)
class Column:
    """source: where its values come from, for whoever gets the file."""

    title: str
    unit: str = ""
    source: str = "as entered"

    @property
    def head(self) -> str:
        return f"{self.title} ({self.unit})" if self.unit else self.title


@dataclass(frozen=True, slots=True)
class Table:
    """rows: one tuple for each row, in the order of the columns, read a few hundred at a time."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: Callable[[Premises, Days], Iterator[tuple[Value, ...]]]


def columns(*titles: str, source: str = "as entered") -> tuple[Column, ...]:
    """Columns without a unit, all of one source."""
    return tuple(Column(title, source=source) for title in titles)
