"""Lists come in pages that stay true while records are added; and a list costs the same queries however long it is."""

import base64
from datetime import timedelta
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from haccp.checks import actions as checks
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from tests.api.conftest import NOW, OPENED
from tests.api.device import ROOT, Device, refusal, room_body
from tests.dairy import Dairy

LISTS = ("records/", "milk/", "makes/", "deviations/", "due-checks/")


def _work(dairy: Dairy, rounds: int, *, begin: int = 0) -> None:
    """Milk, a make with its events, a record and a deviation in each round, all begun at different minutes."""
    for number in range(begin, begin + rounds):
        at = OPENED + timedelta(hours=1, minutes=number)
        make = dairy.start_make(at=at)
        dairy.event(make, "starter_added", at=at)
        dairy.event(make, "placed_in_room", at=at, place=dairy.room)
        dairy.save("Room 1 temperature", "11", "17", at=at, instrument_id=dairy.thermometer.id)


def _every(device: Device, path: str, page_size: int) -> list[list[str]]:
    """Ids page by page, following the links as a device does."""
    pages = []
    address: str | None = f"{ROOT}{path}?page_size={page_size}"
    while address:
        answer = device.client.get(address)
        assert answer.status_code == 200, answer.content
        pages.append([one["id"] for one in answer.json()["results"]])
        address = answer.json()["next"]
    return pages


@pytest.mark.parametrize("path", LISTS)
def test_every_row_is_on_one_page(dairy: Dairy, maker: Device, path: str) -> None:
    _work(dairy, 5)
    whole = [one["id"] for one in maker.get(path).json()["results"]]
    pages = _every(maker, path, 2)

    assert len(whole) >= 5
    assert [one for page in pages for one in page] == whole
    assert all(len(page) == 2 for page in pages[:-1])


def test_rows_of_one_moment_are_neither_lost_nor_doubled(dairy: Dairy, maker: Device) -> None:
    for _ in range(7):
        dairy.save("Room 1 temperature", "11", at=NOW, instrument_id=dairy.thermometer.id)
    listed = [one for page in _every(maker, "records/", 3) for one in page]

    assert len(listed) == len(set(listed)) == 7


def test_a_page_stays_true_while_records_are_added(dairy: Dairy, maker: Device) -> None:
    _work(dairy, 4)
    first = maker.get("records/", page_size="2").json()
    maker.post("records/", room_body(dairy, "11", at=NOW))
    second = maker.client.get(first["next"]).json()

    assert not {one["id"] for one in first["results"]} & {one["id"] for one in second["results"]}
    back = maker.client.get(second["previous"]).json()
    assert [one["id"] for one in back["results"]] == [one["id"] for one in first["results"]]


@pytest.mark.parametrize("asked", ["0", "-1", "many", "", "501"])
def test_a_page_has_a_size_that_can_be(dairy: Dairy, maker: Device, asked: str) -> None:
    _work(dairy, 2)

    assert len(maker.get("records/", page_size=asked).json()["results"]) == 2


@pytest.mark.parametrize("position", ["p=yesterday", "p=\x00", "p=0001-01-01 00:00:00+14:00", "o=-1", "o=x", "r=1&p=x"])
@pytest.mark.parametrize("path", LISTS)
def test_a_cursor_that_was_made_up_is_refused(dairy: Dairy, maker: Device, path: str, position: str) -> None:
    cursor = base64.b64encode(position.encode()).decode()

    refusal(maker.get(path, cursor=cursor), 404, "not_found")
    refusal(maker.get(path, cursor="ü"), 404, "not_found")


def test_a_cursor_of_another_dairy_leads_nowhere_else(dairy: Dairy, maker: Device, stranger: Device) -> None:
    _work(dairy, 4)
    link = urlsplit(maker.get("records/", page_size="2").json()["next"])
    answer = stranger.client.get(f"{link.path}?{urlencode(parse_qsl(link.query))}")

    assert answer.json()["results"] == []


# Queries of each read: 2 for the token and the note of its use, and those that the list itself needs.
BUDGETS = {
    "dairy/": 5,
    "plan/": 18,
    "today/": 15,
    "due-checks/": 3,
    "due-checks/{due}/": 6,
    "checks/{check}/": 5,
    "records/": 7,
    "records/{record}/": 7,
    "milk/": 3,
    "makes/": 4,
    "makes/{make}/": 6,
    "deviations/": 3,
    "deviations/{deviation}/": 6,
    "days/2026-03-10/": 28,
}


def _ids(dairy: Dairy, maker: Device) -> dict[str, Any]:
    """The newest of each kind, which has as much about it as the others."""
    deviation = Deviation.objects.order_by("-number")[0]
    return {
        "due": maker.get("due-checks/").json()["results"][0]["id"],
        "check": dairy.check("Room 1 temperature").id,
        "record": maker.get("records/").json()["results"][0]["id"],
        "make": maker.get("makes/").json()["results"][0]["id"],
        "deviation": deviation.id,
    }


def _count(device: Device, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as captured:
        answer = device.get(address)
    assert answer.status_code == 200, answer.content
    return len(captured)


def _elaborate(dairy: Dairy, deviation: Deviation, steps: int) -> None:
    for _ in range(steps):
        deviations.step_add(
            scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.id, kind="cause", text="The door.", now=NOW
        )


@pytest.mark.parametrize("path", BUDGETS)
def test_a_read_costs_the_same_for_one_row_and_for_many(morning: Dairy, maker: Device, path: str) -> None:
    _work(morning, 1)
    checks.sweep(now=NOW)
    ids = _ids(morning, maker)
    deviation = Deviation.objects.get(pk=ids["deviation"])
    _elaborate(morning, deviation, 1)
    one = _count(maker, path.format(**ids))

    # The same things with more about them, and more things.
    _work(morning, 6, begin=1)
    _elaborate(morning, deviation, 5)
    many = _count(maker, path.format(**ids))

    assert one == many
    assert many <= BUDGETS[path]
