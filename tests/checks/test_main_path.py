"""The path from a reading to a hold and back, through the actions alone."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DueCheck, MissedCheck
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.deviations.queries import guide
from haccp.lots.models import Hold
from haccp.premises.errors import ActionError
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def test_a_warm_room_holds_every_batch_that_was_in_it_since_it_was_last_met(dairy: Dairy) -> None:
    before, inside, _elsewhere = (dairy.start_make(at=MORNING + timedelta(days=n)) for n in range(3))
    dairy.event(before, "placed_in_room", at=MORNING + timedelta(days=1), place=dairy.room)
    dairy.event(before, "left_room", at=MORNING + timedelta(days=2), place=None)
    dairy.event(inside, "placed_in_room", at=MORNING + timedelta(days=2), place=dairy.room)
    met_at = MORNING + timedelta(days=3, hours=2)
    dairy.save("Room 1 temperature", "11.0", at=met_at, instrument_id=dairy.thermometer.id)
    saved = dairy.save("Room 1 temperature", "16.5", at=met_at + timedelta(days=1), instrument_id=dairy.thermometer.id)

    assert [ruling.ruling for ruling in saved.rulings] == ["breached"]
    deviation = Deviation.objects.get()
    assert deviation.exposed_from == met_at
    # Only the batch that was in the room; the milk it came from is not downstream of the room.
    assert [one.lot_id for one in deviation.implicated.all()] == [inside.lot_id]
    assert [hold.lot_id for hold in Hold.objects.standing()] == [inside.lot_id]


def test_a_deviation_is_closed_with_a_signature_and_lifts_its_holds(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "placed_in_room", at=MORNING + timedelta(hours=10), place=dairy.room)
    at = MORNING + timedelta(days=1)
    dairy.save("Room 1 temperature", "16.5", at=at, instrument_id=dairy.thermometer.id)
    deviation = Deviation.objects.get()

    def close() -> None:
        deviations.deviation_close(
            scope=dairy.owner,
            deviation_id=deviation.id,
            password=PASSWORD,
            seen_sha256=guide(deviation).content_sha256,
            now=at,
        )

    with pytest.raises(ActionError, match=f"Decide what happens to {make.lot.code}"):
        close()
    for kind in ("cause", "correction", "prevention", "reassessment"):
        deviations.step_add(
            scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.id, kind=kind, text="Door was open.", now=at
        )
    deviations.step_add(
        scope=dairy.maker,
        step_id=uuid4(),
        deviation_id=deviation.id,
        kind="disposition",
        text="Two hours only.",
        lot_id=make.lot_id,
        disposition="release",
        now=at,
    )
    close()
    assert not Hold.objects.standing().exists()


def test_a_check_that_nobody_did_is_flagged_once_and_opens_a_deviation(dairy: Dairy) -> None:
    due_at = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)  # Dublin keeps UTC in winter
    checks.sweep(now=due_at)
    assert DueCheck.objects.filter(due_at=due_at, check_due__name="Room 1 temperature").count() == 1

    checks.sweep(now=due_at + timedelta(hours=1, minutes=59))
    assert not MissedCheck.objects.exists()
    later = due_at + timedelta(hours=5)
    assert checks.sweep(now=later).flagged == 1
    assert checks.sweep(now=later).flagged == 0

    missed = MissedCheck.objects.get()
    assert missed.missed_at == due_at + timedelta(hours=2)
    assert Deviation.objects.get().missed == missed


def test_a_day_with_an_unanswered_check_cannot_be_signed(dairy: Dairy) -> None:
    day = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
    checks.sweep(now=day)
    book = day_book(dairy.owner.premises, day.date())

    with pytest.raises(ActionError, match="Room 1 temperature, due at 08:00, was missed and has no reason"):
        checks.day_sign(
            scope=dairy.maker,
            day=day.date(),
            meaning="signed_off",
            password=PASSWORD,
            seen_sha256=book.content_sha256,
            now=day,
        )
