"""The day book: the list of days, one day, and its signatures."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.days import day_lines
from haccp.checks.models import DaySignature, DueCheck, MissedCheck
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD, Dairy
from tests.web.conftest import NOW, hidden, page_of

DAY = NOW.date()
EVENING = NOW.replace(hour=18, minute=30)
SignedIn = Callable[[Scope], Client]


@pytest.fixture
def worked(dairy: Dairy, clock: time_machine.Traveller) -> Dairy:
    """A day on which everything was done."""
    for name, values, hour in (("Room 1 temperature", ("11.2",), 8), ("Vat 1 cleaned", ("120", "yes"), 17)):
        due = DueCheck.objects.get(premises=dairy.owner.premises, check_due__name=name, due_at__date=DAY)
        dairy.save(name, *values, at=NOW.replace(hour=hour), due_id=due.id, instrument_id=dairy.thermometer.id)
    clock.move_to(EVENING)
    return dairy


def sign(client: Client, *, password: str = PASSWORD, **more: str) -> tuple[int, str]:
    page = page_of(client.get(f"/days/{DAY}/"))
    sent = {name: hidden(page, name) for name in ("meaning", "seen_sha256")}
    answer = client.post(f"/days/{DAY}/", {**sent, "password": password, **more}, follow=True)
    return answer.status_code, page_of(answer)


def test_a_day_is_signed_off_by_one_and_reviewed_by_another(worked: Dairy, signed_in: SignedIn) -> None:
    maker, owner = signed_in(worked.maker), signed_in(worked.owner)
    page = page_of(maker.get(f"/days/{DAY}/"))
    assert "The records of this day are complete and true to what was done and seen." in page

    assert sign(maker)[0] == 200
    assert "A second person reviews it." in page_of(maker.get(f"/days/{DAY}/"))
    assert "Your password" not in page_of(maker.get(f"/days/{DAY}/"))
    assert sign(owner)[0] == 200

    assert list(DaySignature.objects.order_by("signature__signed_at").values_list("meaning", "signed_by__name")) == [
        ("signed_off", "Milo Maker"),
        ("reviewed", "Orla Owner"),
    ]


def test_the_one_who_signed_off_cannot_review_even_by_hand(worked: Dairy, signed_in: SignedIn) -> None:
    maker = signed_in(worked.maker)
    seen = hidden(page_of(maker.get(f"/days/{DAY}/")), "seen_sha256")
    sign(maker)

    answer = maker.post(f"/days/{DAY}/", {"meaning": "reviewed", "seen_sha256": seen, "password": PASSWORD})

    assert answer.status_code == 422
    assert "a second person reviews it" in page_of(answer)


@pytest.mark.parametrize("meaning", ["", "nonsense"])
def test_a_meaning_made_up_by_hand_is_refused(worked: Dairy, signed_in: SignedIn, meaning: str) -> None:
    maker = signed_in(worked.maker)
    seen = hidden(page_of(maker.get(f"/days/{DAY}/")), "seen_sha256")

    answer = maker.post(f"/days/{DAY}/", {"meaning": meaning, "seen_sha256": seen, "password": PASSWORD})

    assert answer.status_code == 422
    assert not DaySignature.objects.exists()


def test_a_wrong_password_signs_nothing(worked: Dairy, signed_in: SignedIn) -> None:
    status, page = sign(signed_in(worked.maker), password="wrong")

    assert status == 422
    assert "That is not your password; nothing was signed." in page
    assert not DaySignature.objects.exists()


def test_a_day_that_changed_while_it_was_read_is_read_again(worked: Dairy, signed_in: SignedIn) -> None:
    maker = signed_in(worked.maker)
    seen = hidden(page_of(maker.get(f"/days/{DAY}/")), "seen_sha256")
    worked.save("Room 1 temperature", "12.2", at=NOW.replace(hour=18), instrument_id=worked.thermometer.id)

    status, page = sign(maker, seen_sha256=seen)

    assert status == 409
    assert "Read it again, then sign." in page
    # The page that answers shows the day as it is now, and can be signed.
    assert hidden(page, "seen_sha256") == day_book(worked.owner.premises, DAY).content_sha256
    assert sign(maker)[0] == 200


def test_what_was_missed_must_be_answered_first(
    dairy: Dairy, signed_in: SignedIn, clock: time_machine.Traveller
) -> None:
    clock.move_to(EVENING)
    checks.sweep(now=EVENING)
    maker = signed_in(dairy.maker)
    page = page_of(maker.get(f"/days/{DAY}/"))
    assert "Room 1 temperature, due at 08:00, was missed and has no reason." in page
    assert "Your password" not in page

    for missed in MissedCheck.objects.all():
        maker.post(f"/missed/{missed.id}/", {"text": "Nobody was in."})

    assert "Your password" in page_of(maker.get(f"/days/{DAY}/"))


def test_a_late_entry_after_signing_shows_on_the_day_and_in_the_list(
    worked: Dairy, signed_in: SignedIn, clock: time_machine.Traveller
) -> None:
    maker = signed_in(worked.maker)
    sign(maker)
    later = EVENING + timedelta(hours=1)
    clock.move_to(later)
    worked.save("Room 1 temperature", "12.2", at=NOW, instrument_id=worked.thermometer.id, now=later)

    assert "The day was changed after this signature." in page_of(maker.get(f"/days/{DAY}/"))
    assert "changed since" in page_of(maker.get("/days/"))


def test_an_entry_about_another_day_stands_on_both(
    worked: Dairy, signed_in: SignedIn, clock: time_machine.Traveller
) -> None:
    tomorrow = EVENING + timedelta(hours=14)
    clock.move_to(tomorrow)
    worked.save("Room 1 temperature", "12.9", at=NOW, instrument_id=worked.thermometer.id, now=tomorrow)
    maker = signed_in(worked.maker)

    assert "12.9 °C" in page_of(maker.get(f"/days/{DAY}/"))
    entered_on = page_of(maker.get(f"/days/{DAY + timedelta(days=1)}/"))
    assert "12.9 °C" in entered_on.split("Entered on this day about another")[1]


def test_the_list_counts_each_day(dairy: Dairy, clock: time_machine.Traveller) -> None:
    dairy.save("Room 1 temperature", "11.2", at=NOW, instrument_id=dairy.thermometer.id)
    clock.move_to(EVENING)
    checks.sweep(now=EVENING)

    lines = day_lines(dairy.owner.premises, last=DAY, count=31, now=EVENING)

    # Opened the evening before: the book has two days.
    assert [(line.day, line.records, line.missed, line.unanswered) for line in lines] == [
        (DAY, 1, 2, 2),
        (DAY - timedelta(days=1), 0, 0, 0),
    ]


@pytest.mark.parametrize("path", ["/days/2026-02-30/", "/days/2026-03-05/", "/days/?until=yesterday"])
def test_a_day_that_is_none_or_has_not_come_is_not_found(dairy: Dairy, maker: Client, path: str) -> None:
    assert maker.get(path).status_code == 404


def test_as_many_queries_for_full_days_as_for_empty_ones(dairy: Dairy, maker: Client) -> None:
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert maker.get(path).status_code == 200
        return len(captured)

    def fill(minutes: int) -> None:
        dairy.save(
            "Room 1 temperature", "11.2", at=NOW - timedelta(minutes=minutes), instrument_id=dairy.thermometer.id
        )
        dairy.start_make(at=NOW - timedelta(minutes=minutes))

    fill(10)
    one_day, one_list = queries(f"/days/{DAY}/"), queries("/days/")
    for minutes in (20, 30, 40, 50):
        fill(minutes)

    assert queries(f"/days/{DAY}/") == one_day
    assert queries("/days/") == one_list
