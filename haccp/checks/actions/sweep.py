"""The sweep: plans what falls due and flags what nobody did. It costs what is new, not what history holds."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from haccp.checks.actions.missed import missed_flag
from haccp.checks.actions.plan_due import HORIZON, plan_due
from haccp.checks.actions.plan_review import plan_due_review
from haccp.checks.models import DueCheck, PlanningMark, SweepRun
from haccp.checks.reviewing import note_old_days
from haccp.premises.errors import Conflict
from haccp.premises.models import Premises

log = logging.getLogger(__name__)

REPLAN_WHEN_LEFT = HORIZON - timedelta(hours=6)
FLAGGED_TOGETHER = 2000


@dataclass(frozen=True, slots=True)
class SweepResult:
    planned: int
    flagged: int
    errors: tuple[str, ...]


def sweep(*, now: datetime | None = None) -> SweepResult:
    """Flags what is past its grace, plans ahead for every premises that needs it, and flags what that brought up.

    Checks are flagged many to a transaction. Where that fails they are halved until the one that fails is by itself:
    it is reported, tried again at the next sweep, and does not stop the others. Running it twice, late, or on several
    workers at once gives the same flags.
    """
    now = now or timezone.now()
    errors: list[str] = []
    # What is planned already is flagged first: planning for many dairies after a long downtime takes its time.
    flagged = _flag(now, errors)
    planned = _plan(now, errors)
    if planned:
        flagged += _flag(now, errors)
    SweepRun.objects.update_or_create(
        name=SweepRun.DUE_CHECKS, defaults={"finished_at": now, "flagged": flagged, "error": "\n".join(errors[:20])}
    )
    return SweepResult(planned, flagged, tuple(dict.fromkeys(errors)))


def _plan(now: datetime, errors: list[str]) -> int:
    planned_enough = PlanningMark.objects.filter(planned_until__gte=now + REPLAN_WHEN_LEFT).values("premises")
    planned = 0
    for premises in Premises.objects.exclude(pk__in=planned_enough).iterator():
        try:
            planned += plan_due(premises=premises, now=now)
            planned += plan_due_review(premises=premises, now=now)
            note_old_days(premises=premises, now=now)
        except Exception as error:
            log.exception("Planning failed for premises %s; it is tried again at the next sweep.", premises.pk)
            errors.append(f"planning {premises.pk}: {error}")
    return planned


def _flag(now: datetime, errors: list[str]) -> int:
    past = list(DueCheck.objects.past_grace(now).order_by("grace_ends_at", "pk").values_list("pk", flat=True))
    starts = range(0, len(past), FLAGGED_TOGETHER)
    return sum(_flag_together(past[start : start + FLAGGED_TOGETHER], now, errors) for start in starts)


def _flag_together(due_ids: Sequence[UUID], now: datetime, errors: list[str]) -> int:
    try:
        return len(missed_flag(due_ids=due_ids, now=now))
    except Conflict:
        pass  # another worker was quicker with one of them
    except Exception as error:
        if len(due_ids) == 1:
            log.exception("Flagging due check %s failed; it is tried again at the next sweep.", due_ids[0])
            errors.append(f"flagging {due_ids[0]}: {error}")
            return 0
        log.warning("Flagging %s checks together failed (%s); they are tried in halves.", len(due_ids), error)
    if len(due_ids) == 1:
        return 0
    middle = len(due_ids) // 2
    return sum(_flag_together(half, now, errors) for half in (due_ids[:middle], due_ids[middle:]))
