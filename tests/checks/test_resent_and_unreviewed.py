"""A record sent twice, and the day to which a missed check belongs."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DueCheck, MissedCheck, Record
from haccp.checks.reviewing import unreviewed
from haccp.premises.errors import Conflict
from tests.dairy import Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def test_a_record_sent_again_without_a_unit_is_the_same_record(dairy: Dairy) -> None:
    same = {"at": MORNING, "record_id": uuid4(), "instrument_id": dairy.thermometer.id}
    dairy.save("Room 1 temperature", "11.2", **same)  # type: ignore[arg-type]

    assert not dairy.save("Room 1 temperature", "11.2", **same).created  # type: ignore[arg-type]
    with pytest.raises(Conflict, match="already sent with other content"):
        dairy.save("Room 1 temperature", ("11.2", "°F"), **same)  # type: ignore[arg-type]
    assert Record.objects.count() == 1


def test_a_check_missed_over_midnight_belongs_to_the_day_on_which_it_was_due(dairy: Dairy) -> None:
    premises = dairy.owner.premises
    # Due at 23:30 with an hour of grace: missed half an hour into the next day.
    due = DueCheck.objects.create(
        premises=premises,
        check_due=dairy.check("Vat 1 cleaned"),
        slot_key="late at night",
        opens_at=MORNING.replace(hour=22),
        due_at=MORNING.replace(hour=23, minute=30),
        grace_ends_at=MORNING + timedelta(hours=16, minutes=30),
    )
    checks.sweep(now=MORNING + timedelta(days=1))
    missed = MissedCheck.objects.get(due=due)
    assert premises.local_date(missed.missed_at) == date(2026, 3, 3)

    assert missed in day_book(premises, date(2026, 3, 2)).missed
    assert date(2026, 3, 2) in unreviewed(premises, MORNING + timedelta(days=1)).recent
