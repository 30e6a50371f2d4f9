"""Cleanings, chemicals and swabs as a device sends and reads them."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from batches.hygiene import actions as hygiene
from batches.hygiene.models import Cleaning, Method, Swab
from tests.api.conftest import NOW, OPENED
from tests.api.device import Device, iso, record_body, refusal
from tests.dairy import Dairy
from tests.hygiene.test_cleaning import give_method

SOME_TIME_AGO = NOW - timedelta(hours=1)


@pytest.fixture
def method(morning: Dairy) -> Method:
    found, _ = give_method(morning, now=OPENED)
    return found


def cleaning(dairy: Dairy, method: Method, lot: str, chlorine: str = "150") -> dict[str, Any]:
    body = record_body(dairy, "Vat 1 cleaned", chlorine, "yes", at=SOME_TIME_AGO)
    return {key: value for key, value in body.items() if key != "check_id"} | {
        "method": str(method.pk),
        "chemical_lots": [lot],
    }


def test_a_cleaning_is_saved_with_its_record_and_the_lots_and_the_place_is_clean(
    morning: Dairy, maker: Device, owner: Device, method: Method
) -> None:
    (chemical,) = maker.get("hygiene/chemicals/").json()
    can = {"id": str(uuid4()), "code": "L-77", "expires_on": "2027-01-31"}
    assert maker.post(f"hygiene/chemicals/{chemical['id']}/lots/", can).json()["code"] == "L-77"
    assert [one["code"] for one in maker.get("hygiene/chemicals/").json()[0]["lots"]] == ["L-77"]
    (listed,) = maker.get("hygiene/methods/").json()
    assert (listed["name"], listed["chemicals"]) == ("Daily wash", [chemical["id"]])
    assert maker.get("hygiene/places/").json()[0]["is_clean"] is False

    body = cleaning(morning, method, can["id"])
    error = refusal(maker.post("hygiene/cleanings/", body | {"chemical_lots": []}), 400, "refused")
    assert "Say from which lot" in error["message"]
    first = maker.post("hygiene/cleanings/", body, key="k")
    assert first.status_code == 201, first.content
    assert [one["ruling"] for one in first.json()["record"]["rulings"]] == ["met"]
    assert first.json()["chemical_lots"] == [can["id"]]
    assert maker.post("hygiene/cleanings/", body, key="k").headers["Idempotent-Replay"] == "true"
    assert maker.post("hygiene/cleanings/", body).status_code == 200  # the same without its key
    refusal(maker.post("hygiene/cleanings/", body | {"method": str(uuid4())}), 400, "refused")
    assert Cleaning.objects.count() == 1
    assert maker.get("hygiene/places/").json()[0]["is_clean"] is True
    assert [one["record"]["id"] for one in maker.get("hygiene/cleanings/").json()["results"]] == [body["id"]]


def test_a_chemical_is_added_by_who_manages(morning: Dairy, maker: Device, owner: Device) -> None:
    body = {"id": str(uuid4()), "name": "Acid", "purpose": "acid", "active": "nitric acid"}
    refusal(maker.post("hygiene/chemicals/", body), 403, "not_allowed")
    refusal(owner.post("hygiene/chemicals/", body | {"name": " "}), 400, "refused")
    assert owner.post("hygiene/chemicals/", body).json()["lots"] == []
    refusal(owner.post("hygiene/chemicals/", body | {"id": str(uuid4())}), 409, "conflict")


def test_a_swab_goes_to_the_laboratory_and_its_result_is_sent_once(
    morning: Dairy, maker: Device, owner: Device
) -> None:
    rota = {
        "id": str(uuid4()), "zone": 3, "first_on": "2026-03-10", "every_days": 7, "at_once": 1,
        "control_point_code": "PRP 2",
    }  # fmt: skip
    assert owner.post("hygiene/rotas/", rota).status_code == 201
    assert [one["id"] for one in maker.get("hygiene/rotas/").json()] == [rota["id"]]
    point = {"id": str(uuid4()), "place": str(morning.room.pk), "name": "Drain", "zone": 3}
    refusal(maker.post("hygiene/swab-points/", point), 403, "not_allowed")
    assert owner.post("hygiene/swab-points/", point).json()["zone"] == 3
    assert maker.get("hygiene/swab-points/").json()[0]["due_on"] == "2026-03-10"

    swabs = [{"id": str(uuid4()), "point": point["id"], "code": code, "taken_at": iso(NOW)} for code in ("D-1", "D-2")]
    for swab in swabs:
        assert maker.post("hygiene/swabs/", swab).json()["results"] == []
    sent = {"swabs": [swabs[0]["id"]], "laboratory": "County laboratory", "sent_at": iso(NOW)}
    refusal(maker.post("hygiene/swabs/sent/", sent | {"swabs": [str(uuid4())]}), 400, "refused")
    (row,) = maker.post("hygiene/swabs/sent/", sent, key="once").json()
    assert maker.get(f"samples/{row['sample']}/").json()["tests"][0]["parameter"] == "Listeria spp."

    own = {"found": "nothing", "laboratory": "County laboratory", "reported_on": "2026-03-10"}
    error = refusal(maker.post(f"hygiene/swabs/{swabs[0]['id']}/results/", own), 400, "refused")
    assert "enter its result there" in error["message"]
    answer = {"id": str(uuid4()), "values": ["detected"], "report_number": "R 7", "reported_at": iso(NOW)}
    assert maker.post(f"samples/tests/{row['test']}/results/", answer).status_code == 201
    assert maker.post(f"hygiene/swabs/{swabs[1]['id']}/results/", own).json()["found"] == "nothing"
    found = {one["code"]: one["results"] for one in maker.get("hygiene/swabs/").json()["results"]}
    assert [one["found"] for one in found["D-1"]] == ["species"]
    assert found["D-1"][0]["deviation"] is not None
    (now,) = maker.get("hygiene/swab-points/").json()
    assert (now["finds"], now["free_since"], now["is_open"]) == (1, 1, True)
    assert all(step["source"] for step in now["steps"])


def test_what_is_of_another_dairy_is_not_there(morning: Dairy, stranger: Device, method: Method) -> None:
    point = hygiene.swab_point_add(
        scope=morning.owner, point_id=uuid4(), place_id=morning.room.id, name="Drain", zone=3, now=OPENED
    )
    swab = hygiene.swab_take(scope=morning.maker, swab_id=uuid4(), point_id=point.id, code="D-1", taken_at=NOW, now=NOW)
    for path in ("chemicals", "methods", "places", "swab-points", "rotas"):
        assert stranger.get(f"hygiene/{path}/").json() == []
    for path in ("swabs", "cleanings"):
        assert stranger.get(f"hygiene/{path}/").json()["results"] == []
    own = {"found": "nothing", "laboratory": "x", "reported_on": "2026-03-10"}
    refusal(stranger.post(f"hygiene/swabs/{swab.pk}/results/", own), 404, "not_found")
    refusal(stranger.post("hygiene/swabs/sent/", {"swabs": [str(swab.pk)], "laboratory": "x"}), 400, "refused")
    assert Swab.objects.get().results.count() == 0
