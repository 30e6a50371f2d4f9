"""The first page: what must I do now?"""

from collections.abc import Callable
from datetime import timedelta

import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from haccp.checks import actions as checks
from haccp.premises.scope import Scope
from tests.dairy import Dairy
from tests.web.conftest import NOW, page_of


def page_at(clock: time_machine.Traveller, client: Client, minutes: int) -> str:
    """The page that many minutes after the room was due."""
    moment = NOW.replace(minute=0) + timedelta(minutes=minutes)
    clock.move_to(moment)
    checks.sweep(now=moment)
    return page_of(client.get("/today/"))


def test_a_check_is_later_then_due_then_late_then_missed(clock: time_machine.Traveller, maker: Client) -> None:
    assert "Due at <strong>08:00</strong>, may be done from 07:00" in page_at(clock, maker, -61)
    assert "Due at <strong>08:00</strong>, within 1 h" in page_at(clock, maker, -60)
    late = page_at(clock, maker, 1)
    assert "1 min late: was due at 08:00, counts as missed from 10:00" in late
    assert "Missed, and nobody has said why" not in late
    assert "Missed, and nobody has said why" in page_at(clock, maker, 120)


def test_what_falls_due_on_another_day_says_so(
    clock: time_machine.Traveller, dairy: Dairy, signed_in: Callable[[Scope], Client]
) -> None:
    clock.move_to(NOW.replace(hour=23, minute=0))
    maker = signed_in(dairy.maker)
    evening = page_at(clock, maker, 15 * 60 + 30)
    assert "Due at <strong>Thu 5 Mar, 08:00</strong>, may be done from Thu 5 Mar, 07:00" in evening
    assert "Due at <strong>08:00</strong>, may be done from 07:00" in page_at(clock, maker, 16 * 60)


def test_a_due_check_shows_its_limit_target_and_last_value(dairy: Dairy, maker: Client) -> None:
    dairy.save("Room 1 temperature", "12.5", at=NOW - timedelta(hours=3), instrument_id=dairy.thermometer.id)

    page = page_of(maker.get("/today/"))

    assert "<strong>Air between 8 and 14 °C</strong> · target 9.0 °C to 13.0 °C" in page
    assert 'Last: <span class="reading"><strong>12.5 °C</strong>' in page
    assert "Do it now" in page


def test_the_last_value_of_a_batch_is_that_of_the_same_batch(dairy: Dairy, maker: Client) -> None:
    first, second = (dairy.start_make(at=NOW - timedelta(hours=h)) for h in (4, 3))
    for make in (first, second):
        dairy.event(make, "starter_added", at=NOW - timedelta(hours=2))
    dairy.save("pH of the curd", "6.05", at=NOW, lot_id=first.lot_id, instrument_id=dairy.ph_meter.id)

    page = page_of(maker.get("/today/"))

    of_second = page.split(f"pH of the curd · {second.lot.code}</p>")[1].split("</li>")[0]
    of_first = page.split(f"pH of the curd · {first.lot.code}</p>")[1].split("</li>")[0]
    assert "6.05" in of_first
    assert "6.05" not in of_second


def test_rounds_follow_the_walk(clock: time_machine.Traveller, maker: Client) -> None:
    # The vat is walked past before the room, though it falls due hours later.
    page = page_at(clock, maker, -120)

    assert page.index("<h3>Vat 1</h3>") < page.index("<h3>Room 1</h3>")


def test_a_reader_without_the_right_sees_but_cannot_do(reviewer: Scope, signed_in: Callable[[Scope], Client]) -> None:
    page = page_of(signed_in(reviewer).get("/today/"))

    assert "Room 1 temperature" in page
    assert "Do it now" not in page


def test_what_is_open_is_counted(dairy: Dairy, maker: Client) -> None:
    make = dairy.start_make(at=NOW - timedelta(hours=10))
    dairy.event(make, "placed_in_room", at=NOW - timedelta(hours=1), place=dairy.room)
    dairy.save("Room 1 temperature", "16.5", at=NOW, instrument_id=dairy.thermometer.id)

    page = page_of(maker.get("/today/"))

    assert "<span>Open deviations</span> <strong>1</strong>" in page
    assert "<span>Lots on hold</span> <strong>1</strong>" in page
    # The make began the evening before, but only records and missed checks make a day one to be reviewed.
    assert "<span>Days not reviewed</span> <strong>0</strong>" in page


def test_the_page_says_when_the_schedule_has_stopped(clock: time_machine.Traveller, maker: Client) -> None:
    clock.move_to(NOW + timedelta(minutes=4))
    assert "The schedule has not run" not in page_of(maker.get("/today/"))

    clock.move_to(NOW + timedelta(minutes=6))
    assert "The schedule has not run since" in page_of(maker.get("/today/"))


def test_as_many_queries_for_many_checks_as_for_few(dairy: Dairy, maker: Client) -> None:
    def batch(hours: int) -> None:
        make = dairy.start_make(at=NOW - timedelta(hours=hours))
        dairy.event(make, "starter_added", at=NOW - timedelta(hours=2))
        dairy.save("pH of the curd", "6.05", at=NOW, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert maker.get("/today/").status_code == 200
        return len(captured)

    batch(3)
    few = queries()
    for hours in (4, 5, 6, 7):
        batch(hours)

    assert queries() == few
    # Rounds with their last values, what is missed, too slow, closed, uncovered, held, to be reviewed and to be trained
    # again, and each of the last thirty days as it was entered, answered and signed.
    assert few <= 48, "the first page is opened dozens of times a day"
