"""Work with a day and an owner that is no check of the plan: tasks of a corrective action, a recall exercise.

Rooms above register what is to be done; the first page shows it beside the checks.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Work:
    """view, about: the page where it is done. owner: whose it is; "" for anybody's."""

    due_on: date
    title: str
    view: str
    about: UUID | None = None
    owner: str = ""


Source = Callable[[Scope, datetime], Sequence[Work]]

_sources: dict[str, Source] = {}


def register_source(name: str, source: Source) -> None:
    """Called from an AppConfig.ready(). A name registered again replaces the function of before."""
    _sources[name] = source


def other_work(scope: Scope, now: datetime) -> list[Work]:
    """The earliest first."""
    found = [work for source in _sources.values() for work in source(scope, now)]
    return sorted(found, key=lambda work: (work.due_on, work.title))
