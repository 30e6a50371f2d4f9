"""Checks that are entered on a page of a room above, because more is asked there than the check itself.

A room registers a function at start-up that knows its checks; checks need not know the room.
"""

from collections.abc import Callable

from haccp.checks.queries import CheckToDo

PageFor = Callable[[CheckToDo], str | None]

_registered: list[PageFor] = []


def register(page_for: PageFor) -> None:
    """Called from an AppConfig.ready(); calling twice changes nothing."""
    if page_for not in _registered:
        _registered.append(page_for)


def page_of(todo: CheckToDo) -> str | None:
    """The address of the page on which this check is entered; None for the page of checks."""
    return next((address for page_for in _registered if (address := page_for(todo))), None)
