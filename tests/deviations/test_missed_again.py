"""A check of a critical control point missed for weeks is one loss of control, not one for each day."""

from datetime import UTC, datetime, timedelta

import pytest

from haccp.checks import actions as checks
from haccp.checks.models import MissedCheck
from haccp.deviations.models import Deviation, ImplicatedLot, MissedAgain
from haccp.deviations.queries import guide
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from tests.dairy import Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def of_the_room() -> list[Deviation]:
    return list(Deviation.objects.filter(control_point__code="CCP 3").order_by("occurred_at"))


@pytest.mark.parametrize(("days", "every"), [(42, 42), (6, 1)])
def test_weeks_are_one_deviation_however_often_a_sweep_ran(dairy: Dairy, days: int, every: int) -> None:
    for day in range(every, days + 1, every):
        checks.sweep(now=MORNING + day * DAY)

    (deviation,) = of_the_room()
    missed = MissedCheck.objects.filter(due__check_due__name="Room 1 temperature").order_by("missed_at")
    assert missed.count() == days + 1
    assert deviation.missed == missed[0]
    assert [row.missed for row in MissedAgain.objects.all()] == list(missed[1:])
    assert len(guide(deviation).content["missed_again"]) == missed.count() - 1  # type: ignore[arg-type]
    assert not verify_log(Log.objects.get(pk=dairy.owner.log_id)).problem


def test_one_that_is_missed_after_it_was_met_opens_another(dairy: Dairy) -> None:
    checks.sweep(now=MORNING + 3 * DAY)
    dairy.save(
        "Room 1 temperature", "11.0", at=MORNING + 3 * DAY + timedelta(hours=2), instrument_id=dairy.thermometer.id
    )
    checks.sweep(now=MORNING + 6 * DAY)
    assert [deviation.missed_again.count() > 0 for deviation in of_the_room()] == [True, True]


def test_a_batch_that_comes_into_a_room_nobody_looks_at_is_implicated_by_the_one_that_stands_open(dairy: Dairy) -> None:
    checks.sweep(now=MORNING + DAY)
    make = dairy.start_make(at=MORNING + DAY)
    dairy.event(make, "placed_in_room", at=MORNING + DAY + timedelta(hours=8), place=dairy.room)
    checks.sweep(now=MORNING + 9 * DAY)

    (deviation,) = of_the_room()
    assert ImplicatedLot.objects.filter(deviation=deviation, lot=make.lot).exists()
    assert make.lot.holds.filter(cause=deviation.hold_cause).exists()
