"""Public holidays do not count in the time of a review.

21 CFR 117.165(a)(4), from memory: seven working days. 5 U.S.C. 6103: Thanksgiving is the fourth Thursday of November
(26 November 2026), Christmas 25 December.
"""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from haccp.checks import actions as checks
from haccp.checks.actions import DaySaid
from haccp.checks.free_days import countries_for, free_days_of, proposed, regions_of
from haccp.checks.models import FreeDay
from haccp.checks.reviewing import unreviewed
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from tests.dairy import Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
MONDAY = datetime(2026, 11, 23, 12, 0, tzinfo=UTC)
THANKSGIVING = date(2026, 11, 26)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy(at=MONDAY - timedelta(hours=8))


def say(dairy: Dairy, day: date, name: str = "Thanksgiving", *, at: datetime = MONDAY, **more: bool) -> list[FreeDay]:
    return checks.free_days_say(scope=dairy.owner, days=[DaySaid(uuid4(), day, name, **more)], now=at)


def test_a_holiday_gives_the_review_a_day_more(dairy: Dairy) -> None:
    premises = dairy.owner.premises
    dairy.save("Room 1 temperature", "11.2", at=MONDAY, instrument_id=dairy.thermometer.id)
    # 24 25 26 27 · 30 1 2 | 3: without the holiday Wednesday 2 December is the last day in time, with it Thursday.
    second, third, fourth = (datetime(2026, 12, day, 12, tzinfo=UTC) for day in (2, 3, 4))
    assert MONDAY.date() in unreviewed(premises, second).recent
    assert [unreviewed(premises, at).overdue for at in (second, third)] == [0, 1]
    say(dairy, THANKSGIVING)
    assert [unreviewed(premises, at).overdue for at in (second, third, fourth)] == [0, 0, 1]
    say(dairy, THANKSGIVING, is_free=False, at=MONDAY + timedelta(hours=1))  # open after all: what is said last counts
    assert unreviewed(premises, third).overdue == 1
    assert FreeDay.objects.count() == 2
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_day_is_said_once_in_time_and_by_who_manages(dairy: Dairy) -> None:
    same = DaySaid(uuid4(), THANKSGIVING, "Thanksgiving")
    for _ in range(2):
        checks.free_days_say(scope=dairy.owner, days=[same], now=MONDAY)
    say(dairy, THANKSGIVING)  # by another device: it stands already
    assert FreeDay.objects.count() == 1
    with pytest.raises(Conflict):
        checks.free_days_say(scope=dairy.owner, days=[DaySaid(same.id, THANKSGIVING, "Other")], now=MONDAY)
    for day, name, words in (
        (date(2026, 11, 22), "Yesterday", "2026-11-22 is past"),
        (date(2029, 11, 22), "Far", "two years ahead"),
        (date(2026, 12, 25), " ", "Give the day a name"),
    ):
        with pytest.raises(ActionError, match=words):
            say(dairy, day, name)
    with pytest.raises(ActionError, match="Choose a holiday"):
        checks.free_days_say(scope=dairy.owner, days=[], now=MONDAY)
    with pytest.raises(NotAllowed):
        checks.free_days_say(scope=dairy.helper, days=[same], now=MONDAY)
    assert free_days_of(dairy.owner.premises) == {THANKSGIVING}


def test_holidays_are_proposed_by_country_and_part(dairy: Dairy) -> None:
    found = proposed("US", "", 2026)
    assert found[THANKSGIVING].startswith("Thanksgiving")
    assert date(2026, 12, 25) in found
    # Banking and Financial Dealings Act 1971 and the Scottish practice, from memory: 2 January in Scotland alone.
    assert date(2026, 1, 2) in proposed("GB", "SCT", 2026)
    assert date(2026, 1, 2) not in proposed("GB", "ENG", 2026)
    assert regions_of("XX") == () == regions_of("import")
    assert proposed("XX", "", 2026) == {}
    assert countries_for(dairy.owner.premises)["IE"] == "Ireland"
    for country in countries_for(dairy.owner.premises):
        assert len(proposed(country, "", 2026)) >= 5


def test_the_page_proposes_saves_and_takes_back(dairy: Dairy) -> None:
    with time_machine.travel(MONDAY, tick=False) as clock:
        page = signed_in(dairy.owner)
        where = reverse("checks:free_days_add") + "?country=IE&year=2026"
        shown = page.get(where).content.decode()
        assert "Saint Stephen" in shown
        assert "Saint Patrick" not in shown  # past
        said = {"said_id": str(uuid4()), "days": ["2026-12-25"], "own_day": "2026-12-24", "own_name": ""}
        refused = page.post(where, said)
        assert refused.status_code == 422
        assert "Give the day a name" in refused.content.decode()
        assert page.post(where, said | {"own_name": "Market"}).status_code == 302
        assert free_days_of(dairy.owner.premises) == {date(2026, 12, 24), date(2026, 12, 25)}
        assert "Market" in page.get(reverse("checks:free_days")).content.decode()
        clock.shift(60)
        again = {"said_id": str(uuid4()), "working": "2026-12-24"}
        assert page.post(reverse("checks:free_day_end"), again).status_code == 302
        assert free_days_of(dairy.owner.premises) == {date(2026, 12, 25)}
        told = page.post(reverse("checks:free_day_end"), again | {"working": "soon"}, follow=True).content.decode()
        assert "Choose the day from the list" in told
        assert signed_in(dairy.helper).post(where, said).status_code == 403
