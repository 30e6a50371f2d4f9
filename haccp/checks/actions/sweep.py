"""The sweep: plans what falls due and flags what nobody did. It costs what is new, not what history holds."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from haccp.checks.actions.missed import missed_flag
from haccp.checks.actions.plan_due import HORIZON, lots_with_daily_checks, plan_due_for_lot, plan_due_for_premises
from haccp.checks.actions.plan_review import plan_due_review
from haccp.checks.models import DueCheck, PlanningMark, SweepRun
from haccp.premises.models import Premises

log = logging.getLogger(__name__)

REPLAN_WHEN_LEFT = HORIZON - timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class SweepResult:
    planned: int
    flagged: int
    errors: tuple[str, ...]


def sweep(*, now: datetime | None = None) -> SweepResult:
    """Plans ahead for every premises that needs it, then flags every due check whose grace has ended.

    Each row has its own transaction: one that fails is reported and tried again at the next sweep, and does not stop
    the others. Running it twice, late, or on several workers at once gives the same flags.
    """
    now = now or timezone.now()
    errors: list[str] = []
    planned = _plan(now, errors)
    flagged = _flag(now, errors)
    SweepRun.objects.update_or_create(
        name=SweepRun.DUE_CHECKS, defaults={"finished_at": now, "flagged": flagged, "error": "\n".join(errors[:20])}
    )
    return SweepResult(planned, flagged, tuple(errors))


def _plan(now: datetime, errors: list[str]) -> int:
    planned_enough = PlanningMark.objects.filter(planned_until__gte=now + REPLAN_WHEN_LEFT).values("premises")
    planned = 0
    for premises in Premises.objects.exclude(pk__in=planned_enough).iterator():
        try:
            planned += plan_due_for_premises(premises=premises, now=now)
            planned += plan_due_review(premises=premises, now=now)
            for lot in lots_with_daily_checks(premises):
                planned += plan_due_for_lot(lot=lot, now=now)
        except Exception as error:
            log.exception("Planning failed for premises %s; it is tried again at the next sweep.", premises.pk)
            errors.append(f"planning {premises.pk}: {error}")
    return planned


def _flag(now: datetime, errors: list[str]) -> int:
    flagged = 0
    for due_id in list(DueCheck.objects.past_grace(now).order_by("grace_ends_at").values_list("pk", flat=True)):
        try:
            flagged += missed_flag(due_id=due_id, now=now) is not None
        except Exception as error:
            log.exception("Flagging due check %s failed; it is tried again at the next sweep.", due_id)
            errors.append(f"flagging {due_id}: {error}")
    return flagged
