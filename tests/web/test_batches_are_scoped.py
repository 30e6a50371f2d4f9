"""Every page of milk, makes, rooms, deviations and the plan, tried by a stranger and by somebody signed out."""

from datetime import UTC, datetime

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from haccp.deviations.models import Deviation
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import signed_in, stranger

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 18, 0, tzinfo=UTC)
LISTS = (
    "intake:list", "intake:new", "making:list", "making:new", "ripening:rooms", "deviations:list",
    "deviations:report", "plan:plan",
)  # fmt: skip
THINGS = ("intake:detail", "making:batch", "making:event", "ripening:room", "ripening:place", "deviations:detail")
POSTS = ("making:event", "ripening:place", "deviations:step", "deviations:close")


def addresses(dairy: Dairy) -> dict[str, str]:
    milk = dairy.receive_milk(at=NOW - 9 * HOUR)
    make = dairy.start_make(at=NOW - 8 * HOUR, milk=milk)
    dairy.event(make, "placed_in_room", at=NOW - 2 * HOUR, place=dairy.room)
    dairy.save("Room 1 temperature", "16.5", at=NOW - HOUR, instrument_id=dairy.thermometer.id)
    deviation = Deviation.objects.get()
    things = {
        "intake:detail": milk.pk,
        "making:batch": make.pk,
        "making:event": make.pk,
        "ripening:room": dairy.room.pk,
        "ripening:place": make.pk,
        "deviations:detail": deviation.pk,
        "deviations:step": deviation.pk,
        "deviations:close": deviation.pk,
    }
    return {name: reverse(name) for name in LISTS} | {name: reverse(name, args=[pk]) for name, pk in things.items()}


@time_machine.travel(NOW, tick=False)
def test_a_stranger_finds_none_of_it_and_sees_none_of_it_in_their_own_lists() -> None:
    where, client = addresses(open_dairy()), stranger()
    for name in THINGS:
        assert client.get(where[name]).status_code == 404, name
    for name in POSTS:
        assert client.post(where[name], {"kind": "cause"}).status_code == 404, name
    for name in LISTS:
        answer = client.get(where[name])
        assert answer.status_code == 200, name
        page = answer.content.decode()
        for code in ("WT260310", "M260310-C1", "D2026-001"):
            assert code not in page, (name, code)


@time_machine.travel(NOW, tick=False)
def test_somebody_signed_out_is_led_to_sign_in_and_back() -> None:
    client = Client()
    for name, address in addresses(open_dairy()).items():
        answer = client.get(address)
        assert answer.status_code == 302, name
        assert answer["Location"] == f"{reverse('premises:sign_in')}?next={address}", name


@time_machine.travel(NOW, tick=False)
def test_every_page_opens_for_the_helper_of_the_dairy() -> None:
    dairy = open_dairy()
    where, client = addresses(dairy), signed_in(dairy.helper)
    for name in (*LISTS, *THINGS):
        answer = client.get(where[name])
        assert answer.status_code == 200, name
        page = answer.content.decode()
        assert " style=" not in page, name
        assert " onclick=" not in page, name
