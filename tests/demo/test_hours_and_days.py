"""Whatever the hour and the day on which the demo is started: something is late, due now, and due later."""

from collections.abc import Iterator
from typing import Any

import pytest

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, RulingRow
from haccp.checks.queries import today
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from tests.demo.conftest import Loaded, loaded_at, local

SHORT = 2
MOMENTS = [
    "2028-02-29T03:10",  # a leap day
    "2027-01-01T11:40",  # the first day of a year
    "2026-12-31T23:30",
    "2026-10-25T03:10",  # 02:00 became 01:00 an hour and more ago; a Sunday
    "2026-10-24T23:30",  # a night before the change
    "2026-03-29T00:59",  # the minute before 01:00 becomes 02:00
    "2026-03-29T06:45",
    "2026-06-16T00:00",
    "2026-06-16T09:00",
    "2026-06-16T15:59",
    "2026-06-16T20:15",
]


@pytest.fixture(scope="module", params=MOMENTS)
def loaded(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any) -> Iterator[Loaded]:
    with loaded_at(local(request.param), SHORT, django_db_blocker) as found:
        yield found


pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("demo by the hour")]


def test_there_is_always_something_late_something_due_and_something_later(loaded: Loaded) -> None:
    lists = today(loaded.dairy.premises, loaded.now)
    assert lists.late_count >= 1
    assert lists.due_count >= 1
    assert lists.later
    assert lists.missed == ()


def test_a_sweep_finds_nothing_to_flag_and_the_ledger_holds(loaded: Loaded) -> None:
    assert checks.sweep(now=loaded.now).flagged == 0
    assert not DueCheck.objects.past_grace(loaded.now).exists()
    assert verify_log(Log.objects.get(pk=loaded.dairy.premises.log_id)).problem == ""


def test_whatever_is_wrong_is_the_loose_plug(loaded: Loaded) -> None:
    wrong = RulingRow.objects.filter(ruling__in=("breached", "unproven")).values_list("code", flat=True)
    assert set(wrong) <= {"holding.gap"}
    assert Deviation.objects.count() == len(wrong)
