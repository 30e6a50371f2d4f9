"""Samples whose result a room above keeps as well, and of which it says what a result leads to.

Such a room registers at start-up; a result of its samples is then written in both in one transaction.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from batches.laboratory.models import TestResult
from haccp.deviations.models import Deviation
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Kept:
    """deviation: the one that the result opened there; None where it opened none."""

    deviation: Deviation | None


# None for a result of a sample that is none of theirs. Called before the result is written, with its ruling.
Keeper = Callable[[Scope, TestResult, datetime], Kept | None]
_keepers: list[Keeper] = []


def register(keeper: Keeper) -> None:
    """Called from an AppConfig.ready(); calling twice changes nothing."""
    if keeper not in _keepers:
        _keepers.append(keeper)


def keep(scope: Scope, result: TestResult, at: datetime) -> Kept | None:
    """Inside the transaction that writes the result."""
    for keeper in _keepers:
        kept = keeper(scope, result, at)
        if kept is not None:
            return kept
    return None
