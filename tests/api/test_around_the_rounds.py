"""Photographs, closed periods, who is away, whose check it is, and one reason for many, as a device says them."""

import io
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from haccp.checks import actions as checks
from haccp.checks.models import Keeper, MissedCheck, MissedReason, PhotoFile
from tests.api.conftest import NOW
from tests.api.device import ROOT, Device
from tests.dairy import Dairy


@pytest.fixture
def owner(dairy: Dairy) -> Device:
    return Device(dairy.owner)


def picture() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(kept, "JPEG")
    return kept.getvalue()


def send(device: Device, photo_id: str, content: bytes) -> Any:
    body = {"id": photo_id, "file": SimpleUploadedFile("shelf.jpg", content)}
    return device.client.post(ROOT + "photos/", body, format="multipart")


def test_one_reason_is_recorded_for_each_of_many(morning: Dairy, maker: Device) -> None:
    checks.sweep(now=NOW + timedelta(days=9))
    missed = [str(pk) for pk in MissedCheck.objects.values_list("pk", flat=True)]

    body = {"missed": missed, "text": "Nobody was here."}
    for wrong in ({"text": " "}, {"missed": [str(uuid4())]}, {"missed": []}):
        assert maker.post("missed/reasons/", body | wrong).status_code == 400
    assert not MissedReason.objects.exists()

    assert set(maker.post("missed/reasons/", body).json()["missed"]) == set(missed)
    assert maker.post("missed/reasons/", body).json() == {"missed": []}
    assert MissedReason.objects.count() == len(missed) > 15


def test_a_photograph_is_kept_once(morning: Dairy, maker: Device) -> None:
    photo = str(uuid4())
    for _ in range(2):
        sent = send(maker, photo, picture())
        assert sent.status_code == 201, sent.content
        assert (sent.json()["width"], sent.json()["height"]) == (40, 30)
    assert PhotoFile.objects.count() == 1
    assert send(maker, str(uuid4()), b"no picture").status_code == 400


def test_a_period_is_closed_and_opened_again_by_who_manages(morning: Dairy, maker: Device, owner: Device) -> None:
    body = {"id": str(uuid4()), "without": "milk", "first": "2026-12-20", "last": "2027-01-31", "reason": "Dry."}
    assert maker.post("closed-periods/", body).status_code == 403
    assert owner.post("closed-periods/", body | {"first": "2026-03-10"}).status_code == 400
    assert owner.post("closed-periods/", body).json()["open_again_on"] is None

    opened = owner.post(f"closed-periods/{body['id']}/reopening/", {"on": "2027-01-15"})
    assert opened.json()["open_again_on"] == "2027-01-15"
    (listed,) = owner.get("closed-periods/").json()["results"]
    assert (listed["first"], listed["open_again_on"]) == ("2026-12-20", "2027-01-15")


def test_a_maker_hands_over_and_comes_back(morning: Dairy, maker: Device, owner: Device) -> None:
    people = {one["name"]: one["id"] for one in owner.get("dairy/").json()["people"]}
    away = {
        "id": str(uuid4()), "person": people["Milo Maker"], "first": "2026-03-11", "last": "2026-04-20",
        "stand_in": people["Hanna Helper"], "note": "Knee.",
    }  # fmt: skip
    assert maker.post("absences/", away).status_code == 201
    back = maker.post(f"absences/{away['id']}/return/", {"on": "2026-03-20"})
    assert back.json()["back_on"] == "2026-03-20"
    assert maker.post("absences/", away | {"id": str(uuid4()), "stand_in": str(uuid4())}).status_code == 400
    assert [one["stand_in"] for one in maker.get("absences/").json()["results"]] == [away["stand_in"]]

    check = morning.check("Room 1 temperature")
    keeper = {"id": str(uuid4()), "person": people["Milo Maker"]}
    assert maker.post(f"checks/{check.pk}/keeper/", keeper).status_code == 403
    assert owner.post(f"checks/{check.pk}/keeper/", keeper).json()["person"] == keeper["person"]
    assert Keeper.objects.get().membership_id == morning.maker.membership.pk
