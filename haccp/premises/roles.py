"""What each role may do. The one table that views, API and actions ask."""

from enum import StrEnum

from django.utils import timezone

from haccp.premises.models import Membership

Role = Membership.Role


class Right(StrEnum):
    READ = "read"
    BELONG = "belong"  # what a person who works here has of their own: devices, PIN, leaving
    RECORD = "record"  # readings, makes, events, corrective-action steps
    CLOSE_DEVIATION = "close_deviation"
    RELEASE = "release"  # batches, through the gate
    SIGN_DAY = "sign_day"
    REVIEW_DAY = "review_day"
    EDIT_PLAN = "edit_plan"  # drafts of the food-safety plan
    APPROVE_PLAN = "approve_plan"
    EDIT_PROCEDURE = "edit_procedure"  # how a cheese is made: its stages, targets and doses
    MANAGE = "manage"  # people, places, instruments, devices


_EVERYTHING = frozenset(Right)
RIGHTS: dict[str, frozenset[Right]] = {
    Role.OWNER: _EVERYTHING,
    Role.MAKER: frozenset(
        {
            Right.READ,
            Right.BELONG,
            Right.RECORD,
            Right.CLOSE_DEVIATION,
            Right.RELEASE,
            Right.SIGN_DAY,
            Right.REVIEW_DAY,
            Right.EDIT_PROCEDURE,
        }
    ),
    Role.HELPER: frozenset({Right.READ, Right.BELONG, Right.RECORD, Right.SIGN_DAY}),
    Role.REVIEWER: frozenset({Right.READ, Right.BELONG, Right.REVIEW_DAY}),
    Role.CONSULTANT: frozenset({Right.READ, Right.BELONG, Right.EDIT_PLAN, Right.EDIT_PROCEDURE}),
    Role.INSPECTOR: frozenset({Right.READ}),
}


def may(membership: Membership, right: Right) -> bool:
    """Nothing once the role ended, or a visitor's time is over."""
    over = membership.left_at is not None or (membership.until is not None and membership.until <= timezone.now())
    return not over and right in RIGHTS[membership.role]
