"""Brines as a device sees them: made up, refreshed, a batch laid in, discarded; and what a device is refused."""

from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine

from haccp.lots.models import Hold
from haccp.premises import actions as premises
from haccp.premises.models import Place
from tests.api.conftest import OPENED
from tests.api.device import Device, iso, refusal
from tests.dairy import HOUR, Dairy
from tests.deviations.test_completed import reported

DAY = timedelta(days=1)


@pytest.fixture
def tank(dairy: Dairy) -> Place:
    return premises.place_add(scope=dairy.owner, name="Brine tank", kind="brine_tank", walking_order=3, at=OPENED)


def test_a_brine_from_making_up_to_discarding(
    dairy: Dairy, tank: Place, maker: Device, stranger: Device, clock: time_machine.Traveller
) -> None:
    clock.move_to(OPENED + 3 * DAY)
    salt = dairy.receive_ingredient(at=OPENED + HOUR, kind="salt", amount="50", amount_unit="kg")
    make = dairy.start_make(at=OPENED + DAY)
    body = {
        "id": str(uuid4()), "tank": str(tank.pk), "water": "own well", "volume": "150", "salt_lot": str(salt.pk),
        "salt": "60", "made_at": iso(OPENED + DAY),
    }  # fmt: skip
    assert "Only 50" in refusal(maker.post("brines/", body), 400, "refused")["message"]
    made = maker.post("brines/", body | {"salt": "30"})
    assert made.status_code == 201, made.content
    assert maker.post("brines/", body | {"salt": "30"}).json() == made.json()
    told = made.json()
    assert (told["volume_l"], told["salt_kg"], told["is_held"]) == (150.0, 30.0, False)
    assert [one["what"] for one in told["changes"]] == ["made_up"]
    here = f"brines/{body['id']}/"
    assert [one["id"] for one in maker.get("brines/").json()["results"]] == [body["id"]]

    laid = {"id": str(uuid4()), "batch": str(make.pk), "laid_in_at": iso(OPENED + 2 * DAY)}
    assert maker.post(f"{here}batches/", laid).json()["batch"] == str(make.pk)
    assert maker.get(here).json()["uses"][0]["id"] == laid["id"]

    skimmed = {"id": str(uuid4()), "what": "refreshed", "at": iso(OPENED + 2 * DAY), "note": "Skimmed."}
    assert maker.post(f"{here}changes/", skimmed).status_code == 201
    gone = {"id": str(uuid4()), "what": "discarded", "at": iso(OPENED + 3 * DAY), "note": "Cloudy; to the pit."}
    mixed = maker.post(f"{here}changes/", gone | {"salt": "1"})
    assert mixed.status_code == 400
    assert maker.post(f"{here}changes/", gone).json()["discarded_at"] == iso(OPENED + 3 * DAY)
    assert maker.post(f"{here}changes/", skimmed | {"id": str(uuid4())}).status_code == 409
    assert stranger.get(here).status_code == 404
    assert stranger.post(f"{here}batches/", laid).status_code == 404


def test_a_device_lays_nothing_into_a_brine_on_hold_and_decides_about_several_lots_at_once(
    dairy: Dairy, tank: Place, maker: Device, clock: time_machine.Traveller
) -> None:
    clock.move_to(OPENED + 3 * DAY)
    salt = dairy.receive_ingredient(at=OPENED + HOUR, kind="salt", amount="50", amount_unit="kg")
    suspect, sound = dairy.start_make(at=OPENED + DAY), dairy.start_make(at=OPENED + 2 * DAY)
    body = {
        "id": str(uuid4()), "tank": str(tank.pk), "water": "own well", "volume": "150", "salt_lot": str(salt.pk),
        "salt": "30", "made_at": iso(OPENED + DAY),
    }  # fmt: skip
    assert maker.post("brines/", body).status_code == 201
    deviation = reported(dairy, suspect, occurred_at=OPENED + DAY, now=OPENED + DAY + HOUR)
    here = f"brines/{body['id']}/batches/"
    laid = {"id": str(uuid4()), "batch": str(suspect.pk), "laid_in_at": iso(OPENED + 2 * DAY)}
    assert maker.post(here, laid).status_code == 201
    refused = maker.post(here, laid | {"id": str(uuid4()), "batch": str(sound.pk)})
    assert "is on hold and cannot be used" in refusal(refused, 400, "refused")["message"]
    told = maker.get(f"deviations/{deviation.pk}/").json()
    assert {one["lot"]: one["way"] for one in told["implicated"]} == {
        str(suspect.pk): "direct", body["id"]: "onward",
    }  # fmt: skip
    decision = {
        "id": str(uuid4()), "lots": [str(suspect.pk), body["id"]], "disposition": "not_touched", "text": "Examined.",
    }  # fmt: skip
    address = f"deviations/{deviation.pk}/dispositions/"
    assert maker.post(address, decision | {"lots": []}).status_code == 400
    first = maker.post(address, decision)
    assert first.status_code == 201, first.content
    assert len(maker.post(address, decision).json()["steps"]) == len(first.json()["steps"]) == 2
    assert not Hold.objects.standing().exists()
