"""The flags are those of the pure function of plan and calendar, whenever sweeps ran and whatever their clock said."""

import random
from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.science.schedule import slots
from tests.dairy import OPENED_AT, Dairy, open_dairy

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
SIX_WEEKS_ON = OPENED_AT + 42 * DAY  # across the last Sunday of March, on which Dublin's clocks go forward
Flags = Counter[tuple[str, datetime]]


def due_by(dairy: Dairy, until: datetime) -> Flags:
    """What the pure function has past its grace by a moment: the clock's checks of the plan in force."""
    found: Flags = Counter()
    assert dairy.revision.effective_from is not None
    for check in dairy.revision.checks.filter(cadence__kind="clock"):
        for slot in slots(
            check.cadence,
            time_zone=dairy.owner.premises.time_zone,
            window_before_s=check.window_before_s,
            grace_s=check.grace_s,
            start=dairy.revision.effective_from,
            end=until,
        ):
            if slot.grace_ends_at <= until:
                found[check.name, slot.due_at] += 1
    return found


def flags(dairy: Dairy) -> Flags:
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds
    return Counter(MissedCheck.objects.values_list("due__check_due__name", "due__due_at"))


def do_next(dairy: Dairy, now: datetime) -> tuple[str, datetime] | None:
    """The vat's next cleaning that is planned, done when it is due: it is no flag then."""
    planned = DueCheck.objects.unsettled().filter(due_at__gte=now, check_due__name="Vat 1 cleaned")
    due = planned.order_by("due_at").first()
    if due is None:
        return None
    dairy.save("Vat 1 cleaned", "150", "yes", at=due.due_at, due_id=due.pk)
    return "Vat 1 cleaned", due.due_at


def test_a_dairy_that_nothing_watched_for_six_weeks_has_the_flags_of_the_pure_function() -> None:
    dairy = open_dairy()
    checks.sweep(now=SIX_WEEKS_ON)
    expected = due_by(dairy, SIX_WEEKS_ON)
    assert flags(dairy) == expected
    assert sum(expected.values()) > 80
    assert datetime(2026, 3, 30, 7, 0, tzinfo=UTC) in {at for _, at in expected}  # 08:00 in Dublin by summer time


@pytest.mark.parametrize("seed", range(2))
def test_a_clock_that_is_set_back_loses_no_flag_and_makes_none_twice(seed: int) -> None:
    luck = random.Random(seed)  # noqa: S311
    dairy = open_dairy()
    now, done = OPENED_AT, Flags()
    while now < SIX_WEEKS_ON:
        now += luck.choice((20 * timedelta(minutes=1), HOUR, 5 * HOUR, DAY, 3 * DAY))
        checks.sweep(now=now)
        if luck.random() < 0.3 and (cleaned := do_next(dairy, now)) is not None:
            done[cleaned] += 1
            now = cleaned[1]
        if luck.random() < 0.4:  # set back by an hour or two, and right again at the next sweep
            checks.sweep(now=now - luck.choice((HOUR, 2 * HOUR)))
    checks.sweep(now=now)
    assert flags(dairy) == due_by(dairy, now) - done
    assert done
