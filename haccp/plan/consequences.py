"""What follows from the approval of a revision, and what is under way when it comes.

Rooms above register what they do about it at start-up (checks plan anew, lots tell of batches); the plan need not
know them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.plan.differences import Difference
from haccp.plan.models import PlanReview, PlanRevision
from haccp.premises.models import Premises
from haccp.premises.scope import Scope

AfterApproval = Callable[[PlanRevision, datetime], None]


@dataclass(frozen=True, slots=True)
class InProgress:
    """Something begun under an earlier revision, which stays under it unless it is moved.

    changes: what the new revision would change for it.
    """

    lot_id: UUID
    code: str
    words: str
    begun_at: datetime
    stands_under: PlanRevision
    changes: tuple[Difference, ...]


# (key of a check, sentence) for each critical check that nobody covers.
ListUncovered = Callable[[Premises, datetime], list[tuple[str, str]]]
ListInProgress = Callable[[PlanRevision], list[InProgress]]

# What follows from a signed review, or from something that calls for one (then the review is None).
AfterReview = Callable[[Scope, PlanReview | None, datetime], None]

_after_approval: list[AfterApproval] = []
_after_review: list[AfterReview] = []
_in_progress: list[ListInProgress] = []
_uncovered: list[ListUncovered] = []


def register(
    *,
    after_approval: AfterApproval | None = None,
    in_progress: ListInProgress | None = None,
    uncovered: ListUncovered | None = None,
    after_review: AfterReview | None = None,
) -> None:
    """Called from an AppConfig.ready(); calling twice with the same functions changes nothing."""
    if after_review is not None and after_review not in _after_review:
        _after_review.append(after_review)
    if after_approval is not None and after_approval not in _after_approval:
        _after_approval.append(after_approval)
    if in_progress is not None and in_progress not in _in_progress:
        _in_progress.append(in_progress)
    if uncovered is not None and uncovered not in _uncovered:
        _uncovered.append(uncovered)


def revision_approved(revision: PlanRevision, at: datetime) -> None:
    """Inside the transaction of the approval."""
    for follow in _after_approval:
        follow(revision, at)


def review_changed(scope: Scope, review: PlanReview | None, at: datetime) -> None:
    """Inside the transaction of the review, or of what calls for one."""
    for follow in _after_review:
        follow(scope, review, at)


def in_progress_before(revision: PlanRevision) -> list[InProgress]:
    """Whatever is under way at the premises of a draft, of every room that knows of such."""
    return [one for listed in _in_progress for one in listed(revision)]


def uncovered_at(premises: Premises, at: datetime) -> tuple[tuple[str, str], ...]:
    """What the rooms above know of people: critical checks that nobody covers."""
    return tuple(one for listed in _uncovered for one in listed(premises, at))
