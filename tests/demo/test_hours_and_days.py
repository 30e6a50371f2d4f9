"""Whatever the hour and the day on which the demo is started: something is late, due now, and due later."""

from typing import Any

import pytest

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, RulingRow
from haccp.checks.queries import today
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from tests.demo.conftest import loaded_at, local

SHORT = 2
MOMENTS = [
    "2028-02-29T03:10",  # a leap day
    "2027-01-01T11:40",  # the first day of a year
    "2026-12-31T23:30",
    "2026-10-25T03:10",  # 02:00 became 01:00 an hour and more ago; a Sunday
    "2026-10-24T23:30",  # a night before the change
    "2026-03-29T00:59",  # the minute before 01:00 becomes 02:00
    "2026-06-16T00:00",
    "2026-06-16T15:59",
    "2026-06-16T20:15",
]


@pytest.mark.django_db
@pytest.mark.parametrize("moment", MOMENTS)
def test_there_is_always_something_late_something_due_and_something_later(moment: str, django_db_blocker: Any) -> None:
    with loaded_at(local(moment), SHORT, django_db_blocker) as loaded:
        lists = today(loaded.dairy.premises, loaded.now)
        assert lists.late_count >= 1
        assert lists.due_count >= 1
        assert lists.later
        assert lists.missed == ()

        # A sweep at this moment finds nothing to flag, and the ledger holds.
        assert checks.sweep(now=loaded.now).flagged == 0
        assert not DueCheck.objects.past_grace(loaded.now).exists()
        assert verify_log(Log.objects.get(pk=loaded.dairy.premises.log_id)).problem == ""

        # Whatever is wrong is the loose plug, where a thermisation lies within the two days.
        wrong = RulingRow.objects.filter(ruling__in=("breached", "unproven")).values_list("code", flat=True)
        assert set(wrong) <= {"holding.gap"}
        assert Deviation.objects.count() == len(wrong)
