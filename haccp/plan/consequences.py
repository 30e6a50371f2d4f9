"""What follows from the approval of a revision, in the same transaction.

Rooms above register what they do about it at start-up (checks plans anew); the plan need not know them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from haccp.plan.models import PlanRevision
from haccp.premises.models import Premises

AfterApproval = Callable[[PlanRevision, datetime], None]


@dataclass(frozen=True, slots=True)
class InProgress:
    """Something begun under an earlier revision, which stays under it. product_code: "" where it has no product."""

    code: str
    words: str
    product_code: str
    revision_number: int


ListInProgress = Callable[[Premises], list[InProgress]]

_after_approval: list[AfterApproval] = []
_in_progress: list[ListInProgress] = []


def register(*, after_approval: AfterApproval | None = None, in_progress: ListInProgress | None = None) -> None:
    """Called from an AppConfig.ready(); calling twice with the same functions changes nothing."""
    if after_approval is not None and after_approval not in _after_approval:
        _after_approval.append(after_approval)
    if in_progress is not None and in_progress not in _in_progress:
        _in_progress.append(in_progress)


def revision_approved(revision: PlanRevision, at: datetime) -> None:
    for follow in _after_approval:
        follow(revision, at)


def begun_here(premises: Premises) -> list[InProgress]:
    """Whatever is under way at the premises, of every room that knows of such."""
    return [one for listed in _in_progress for one in listed(premises)]
