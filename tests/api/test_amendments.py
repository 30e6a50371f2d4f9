"""Amendments: the original stays, the reason stands beside the new version."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from haccp.checks.models import Record
from haccp.deviations.models import Deviation
from tests.api.conftest import NOW
from tests.api.device import Device, refusal, room_body
from tests.dairy import Dairy


@pytest.fixture
def original(dairy: Dairy, maker: Device) -> dict[str, Any]:
    body = room_body(dairy, "17,1", at=NOW - timedelta(minutes=5))
    answer = maker.post("records/", body)
    assert answer.status_code == 201
    return body


def _amendment(original: dict[str, Any], text: str, **more: Any) -> dict[str, Any]:
    return {
        "id": str(uuid4()),
        "observed_at": original["observed_at"],
        "entries": [original["entries"][0] | {"text": text}],
        "reason": "Read from the wrong shelf.",
    } | more


def test_an_amendment_stands_beside_its_original(
    dairy: Dairy, helper: Device, maker: Device, original: dict[str, Any]
) -> None:
    body = _amendment(original, "11,7")
    answer = helper.post(f"records/{original['id']}/amendments/", body)

    assert answer.status_code == 201
    amended = answer.json()
    assert (amended["amends"], amended["amend_reason"]) == (original["id"], "Read from the wrong shelf.")
    assert amended["recorded_by"] == "Hanna Helper"
    # Nothing was said of the instrument, so it is the one that the original names.
    assert amended["instrument"] == original["instrument"]
    assert [one["ruling"] for one in amended["rulings"]] == ["met"]

    listed = {one["id"]: one for one in maker.get("records/").json()["results"]}
    assert listed[original["id"]]["readings"][0]["typed_text"] == "17,1"
    assert listed[body["id"]]["readings"][0]["typed_text"] == "11,7"


def test_a_deviation_that_stands_open_is_not_opened_twice(maker: Device, original: dict[str, Any]) -> None:
    maker.post(f"records/{original['id']}/amendments/", _amendment(original, "17,4"))

    assert Deviation.objects.count() == 1


def test_the_same_amendment_sent_twice_is_one(maker: Device, original: dict[str, Any]) -> None:
    body = _amendment(original, "11,7")
    first, again = (maker.post(f"records/{original['id']}/amendments/", body) for _ in range(2))

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert Record.objects.count() == 2


@pytest.mark.parametrize(
    "change", [{"reason": "Another reason."}, {"note": "x"}, {"observed_at": "2026-03-10T08:00:00Z"}]
)
def test_the_same_id_with_other_content_is_a_conflict(
    maker: Device, original: dict[str, Any], change: dict[str, str]
) -> None:
    body = _amendment(original, "11,7")
    maker.post(f"records/{original['id']}/amendments/", body)

    refusal(maker.post(f"records/{original['id']}/amendments/", body | change), 409, "conflict")


def test_an_amendment_needs_a_reason(maker: Device, original: dict[str, Any]) -> None:
    error = refusal(
        maker.post(f"records/{original['id']}/amendments/", _amendment(original, "11,7", reason=" ")), 400, "refused"
    )

    assert error["fields"]["reason"][0].startswith("Say why")


def test_only_the_latest_version_is_amended(maker: Device, helper: Device, original: dict[str, Any]) -> None:
    first = maker.post(f"records/{original['id']}/amendments/", _amendment(original, "11,7")).json()

    error = refusal(helper.post(f"records/{original['id']}/amendments/", _amendment(original, "11,8")), 409, "conflict")
    assert "latest version" in error["message"]
    again = helper.post(f"records/{first['id']}/amendments/", _amendment(original, "11,8"))
    assert again.status_code == 201


def test_a_record_of_another_dairy_is_not_there_to_amend(stranger: Device, original: dict[str, Any]) -> None:
    refusal(stranger.post(f"records/{original['id']}/amendments/", _amendment(original, "11")), 404, "not_found")
    refusal(stranger.post(f"records/{original['id']}/amendments/", {}), 404, "not_found")
    refusal(stranger.get(f"records/{original['id']}/"), 404, "not_found")


def test_a_record_is_never_changed_or_removed(maker: Device, original: dict[str, Any]) -> None:
    address = f"/api/v1/records/{original['id']}/"
    for send in (maker.client.put, maker.client.patch, maker.client.delete):
        refusal(send(address, original, format="json"), 405, "method_not_allowed")
