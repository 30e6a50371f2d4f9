"""Times on the wire: RFC 3339, with their offset."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client

from haccp.checks.models import Record
from tests.api.conftest import NOW
from tests.api.device import ROOT, Device, refusal, room_body
from tests.dairy import Dairy


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-10T08:05:00Z",
        "2026-03-10T09:05:00+01:00",
        "2026-03-10T02:05:00-06:00",
        "2026-03-10 08:05:00+00:00",
        "2026-03-10T13:50:00+05:45",
    ],
)
def test_a_time_with_its_offset_is_one_moment(dairy: Dairy, maker: Device, text: str) -> None:
    answer = maker.post("records/", room_body(dairy, "11", at=NOW) | {"observed_at": text})

    assert answer.json()["observed_at"] == "2026-03-10T08:05:00Z"
    assert Record.objects.get().observed_at == datetime(2026, 3, 10, 8, 5, tzinfo=UTC)


@pytest.mark.parametrize("text", ["2026-03-10T08:05:00", "2026-03-10", "2026-03-10T08:05"])
def test_a_time_without_its_offset_is_refused(dairy: Dairy, maker: Device, text: str) -> None:
    error = refusal(maker.post("records/", room_body(dairy, "11", at=NOW) | {"observed_at": text}), 400, "bad_input")

    assert "with its offset" in error["fields"]["observed_at"][0]


@pytest.mark.parametrize(
    "value",
    ["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "1969-12-31T23:59:59Z", "noon", "", 0, 1e99, [], {}],
)
@pytest.mark.parametrize("field", ["observed_at", "device_at"])
def test_a_time_that_is_none_is_refused(dairy: Dairy, maker: Device, field: str, value: Any) -> None:
    error = refusal(maker.post("records/", room_body(dairy, "11", at=NOW) | {field: value}), 400, "bad_input")

    assert field in error["fields"]


def test_a_page_is_told_the_same_moment_in_its_own_zone(dairy: Dairy, maker: Device) -> None:
    moment = datetime(2026, 3, 10, 8, 5, tzinfo=UTC)
    maker.post("records/", room_body(dairy, "11", at=moment))
    browser = Client()
    browser.force_login(dairy.maker.user)
    text = browser.get(ROOT + "records/").json()["results"][0]["observed_at"]

    assert datetime.fromisoformat(text) == moment
