"""Rooms: what is in them now, their climate, and the move of a batch into one."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from haccp.lots.models import LotEvent
from haccp.premises import actions as premises
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def test_a_room_shows_who_is_in_it_and_not_who_has_left_or_moved_on(dairy: Dairy) -> None:
    other = premises.place_add(scope=dairy.owner, name="Room 2", kind="ripening_room", walking_order=3)
    stays, left, moved = (dairy.start_make(at=NOW - timedelta(days=n)) for n in (9, 8, 7))
    for make in (stays, left, moved):
        dairy.event(make, "placed_in_room", at=NOW - timedelta(days=6), place=dairy.room)
    dairy.event(left, "left_room", at=NOW - timedelta(days=1))
    dairy.event(moved, "placed_in_room", at=NOW - timedelta(days=1), place=other)

    client = signed_in(dairy.helper)
    page = client.get(reverse("ripening:room", args=[dairy.room.pk])).content.decode()
    assert stays.lot.code in page
    assert "9 days" in page
    assert left.lot.code not in page
    assert moved.lot.code not in page
    assert moved.lot.code in client.get(reverse("ripening:room", args=[other.pk])).content.decode()


def test_the_climate_is_drawn_with_its_limits_and_the_last_reading_with_its_ruling(dairy: Dairy) -> None:
    for day in range(5, 0, -1):
        dairy.save("Room 1 temperature", "11.5", at=NOW - timedelta(days=day), instrument_id=dairy.thermometer.id)
    dairy.save("Room 1 temperature", "16.5", at=NOW - HOUR, instrument_id=dairy.thermometer.id)
    page = signed_in(dairy.helper).get(reverse("ripening:room", args=[dairy.room.pk])).content.decode()

    assert "6 readings, from 11.5 °C to 16.5 °C" in page
    assert "≤ 14.0 °C" in page
    assert "Last: <strong>16.5 °C</strong>" in page
    assert "breached" in page


def test_the_reader_s_degrees_are_used(dairy: Dairy) -> None:
    dairy.helper.user.temperature_unit = "°F"
    dairy.helper.user.save()
    dairy.save("Room 1 temperature", "10.0", at=NOW - HOUR, instrument_id=dairy.thermometer.id)
    page = signed_in(dairy.helper).get(reverse("ripening:room", args=[dairy.room.pk])).content.decode()
    assert "Last: <strong>50.0 °F</strong>" in page  # °F = 9/5 °C + 32: NIST SP 811 (2008), appendix B.8


def test_a_batch_is_placed_once_however_often_it_is_sent(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - HOUR), signed_in(dairy.helper)
    form = {"event_id": str(uuid4()), "room": str(dairy.room.pk), "occurred_at": "2026-03-20T11:30"}
    for _ in range(2):
        assert client.post(reverse("ripening:place", args=[make.pk]), form).status_code == 302
    assert LotEvent.objects.get(lot=make.lot, kind="placed_in_room").place == dairy.room


@pytest.mark.parametrize("room", ["", "vat", "of another dairy"])
def test_a_batch_goes_only_into_a_room_of_this_dairy(dairy: Dairy, room: str) -> None:
    make = dairy.start_make(at=NOW - HOUR)
    elsewhere = open_dairy(name="Other Farm").room
    sent = {"": "", "vat": str(dairy.vat.pk), "of another dairy": str(elsewhere.pk)}[room]
    form = {"event_id": str(uuid4()), "room": sent, "occurred_at": "2026-03-20T11:30"}
    answer = signed_in(dairy.helper).post(reverse("ripening:place", args=[make.pk]), form)
    assert answer.status_code == 422
    assert "Choose the room" in answer.content.decode()
    assert form["event_id"] in answer.content.decode()


def test_rooms_cost_the_same_with_one_batch_and_with_many(dairy: Dairy) -> None:
    client = signed_in(dairy.helper)
    for n in range(1, 5):
        make = dairy.start_make(at=NOW - timedelta(days=n))
        dairy.event(make, "placed_in_room", at=NOW - timedelta(days=n) + HOUR, place=dairy.room)
        if n == 1:
            with CaptureQueriesContext(connection) as one:
                client.get(reverse("ripening:rooms"))
    with CaptureQueriesContext(connection) as many:
        page = client.get(reverse("ripening:rooms")).content.decode()
    assert "<strong>4</strong> batches" in page
    assert len(many) == len(one)


def test_somebody_who_only_reads_may_look_and_not_move(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - HOUR), reader(dairy)
    assert client.get(reverse("ripening:rooms")).status_code == 200
    assert client.get(reverse("ripening:place", args=[make.pk])).status_code == 403
