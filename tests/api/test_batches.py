"""Milk, makes and what happens to a batch."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from batches.intake.models import MilkLot
from batches.making.models import Make
from haccp.lots.models import LotEvent
from tests.api.conftest import NOW
from tests.api.device import Device, iso, refusal
from tests.dairy import Dairy


def _milk(**more: Any) -> dict[str, Any]:
    return {
        "id": str(uuid4()),
        "species": "cow",
        "source": "own herd",
        "volume": "180,5",
        "volume_unit": "L",
        "received_at": iso(NOW - timedelta(minutes=50)),
    } | more


def _make(dairy: Dairy, milk_id: str, **more: Any) -> dict[str, Any]:
    return {
        "id": str(uuid4()),
        "product": str(dairy.product.id),
        "vat": str(dairy.vat.id),
        "milk": [{"lot": milk_id, "litres": 150}],
        "started_at": iso(NOW - timedelta(minutes=30)),
    } | more


def test_milk_arrives_and_its_acceptance_falls_due(dairy: Dairy, maker: Device) -> None:
    body = _milk()
    answer = maker.post("milk/", body)

    assert answer.status_code == 201
    milk = answer.json()
    assert (milk["code"], milk["volume_l"], milk["typed_volume"]) == ("M260310-C1", 180.5, "180,5")
    assert maker.get(f"milk/{body['id']}/").json() == milk
    assert maker.get("milk/").json()["results"] == [milk]
    due = maker.get("due-checks/", lot=body["id"]).json()["results"]
    assert [one["name"] for one in due] == ["Milk acceptance"]


def test_gallons_are_turned_into_litres(dairy: Dairy, maker: Device) -> None:
    # 1 US gallon is 3.785 411 784 L: NIST SP 811, appendix B.8.
    milk = maker.post("milk/", _milk(volume="100", volume_unit="gal (US)")).json()

    assert milk["volume_l"] == pytest.approx(378.5411784, rel=1e-12)


def test_all_that_is_wrong_with_the_milk_is_said_at_once(dairy: Dairy, maker: Device) -> None:
    body = _milk(volume="lots", source=" ", received_at=iso(NOW + timedelta(hours=1)))
    error = refusal(maker.post("milk/", body), 400, "refused")

    assert set(error["fields"]) == {"volume", "source", "received_at"}
    assert not MilkLot.objects.exists()
    refusal(maker.post("milk/", _milk(species="reindeer")), 400, "bad_input")


@pytest.mark.parametrize(
    "change",
    [
        {"volume": "181"},
        {"volume_unit": "gal (US)"},
        {"species": "goat"},
        {"source": "the neighbours"},
        {"received_at": iso(NOW)},
    ],
)
def test_the_same_milk_with_other_content_is_a_conflict(dairy: Dairy, maker: Device, change: dict[str, str]) -> None:
    body = _milk()
    first = maker.post("milk/", body)
    assert maker.post("milk/", body).json() == first.json()

    refusal(maker.post("milk/", body | change), 409, "conflict")
    assert MilkLot.objects.count() == 1


def _accepted(maker: Device) -> dict[str, Any]:
    milk: dict[str, Any] = maker.post("milk/", _milk()).json()
    found = {"id": str(uuid4()), "kind": "residues", "text": "negative", "observed_at": iso(NOW)}
    assert maker.post(f"milk/{milk['id']}/findings/", found).status_code == 201
    decision = {"id": str(uuid4()), "decision": "accepted", "reason": "Tested while it was unloaded."}
    assert maker.post(f"milk/{milk['id']}/decision/", decision).status_code == 201
    return milk


def test_milk_that_nobody_accepted_is_used_only_with_a_reason_that_opens_a_deviation(
    dairy: Dairy, maker: Device
) -> None:
    milk = maker.post("milk/", _milk()).json()
    body = _make(dairy, milk["id"])
    error = refusal(maker.post("makes/", body), 400, "refused")
    assert "nobody has accepted it yet" in error["fields"]["exception"][0]

    assert maker.post("makes/", body | {"exception": "The kit ran out; the sample is kept."}).status_code == 201
    [deviation] = maker.get("deviations/").json()["results"]
    assert "The kit ran out" in deviation["summary"]


def test_an_ingredient_comes_in_and_is_accepted(maker: Device) -> None:
    body = {"id": str(uuid4()), "kind": "rennet", "name": "Calf rennet", "amount": "0,5", "amount_unit": "L"}
    body |= {"received_at": iso(NOW), "expires_on": "2026-09-30", "strength": "145", "strength_unit": "IMCU/mL"}
    answer = maker.post("ingredients/", body)
    assert answer.status_code == 201
    assert (answer.json()["quantity"], answer.json()["amount_si"], answer.json()["left_si"]) == ("volume", 0.5, 0.5)
    decision = {"id": str(uuid4()), "decision": "accepted"}
    assert maker.post(f"ingredients/{body['id']}/decision/", decision).status_code == 201
    assert maker.get("ingredients/").json()["results"] == [maker.get(f"ingredients/{body['id']}/").json()]


def test_a_make_starts_and_its_checks_fall_due(dairy: Dairy, maker: Device) -> None:
    milk = _accepted(maker)
    body = _make(dairy, milk["id"], note=" First of the day. ")
    answer = maker.post("makes/", body)

    assert answer.status_code == 201
    make = answer.json()
    assert (make["code"], make["product"], make["vat"]) == ("WT260310", "Weir Tomme", str(dairy.vat.id))
    assert (make["is_held"], make["holds"], make["note"]) == (False, [], "First of the day.")
    assert [event["kind"] for event in make["events"]] == ["make_started"]
    assert maker.get(f"makes/{body['id']}/").json() == make
    due = maker.get("due-checks/", lot=body["id"]).json()["results"]
    assert [one["name"] for one in due] == ["Heat treatment"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"product": str(uuid4())}, "product"),
        ({"vat": str(uuid4())}, "vat"),
        ({"milk": []}, "milk"),
        ({"milk": [{"lot": str(uuid4()), "litres": 10}]}, "milk"),
        ({"started_at": iso(NOW + timedelta(minutes=3))}, "started_at"),
    ],
)
def test_a_make_of_what_is_not_there_is_refused(
    dairy: Dairy, maker: Device, change: dict[str, Any], field: str
) -> None:
    milk = maker.post("milk/", _milk()).json()
    error = refusal(maker.post("makes/", _make(dairy, milk["id"]) | change), 400, "refused")

    assert field in error["fields"]
    assert not Make.objects.exists()


def test_no_more_milk_is_used_than_there_is(dairy: Dairy, maker: Device) -> None:
    milk = _accepted(maker)
    maker.post("makes/", _make(dairy, milk["id"]))

    error = refusal(maker.post("makes/", _make(dairy, milk["id"])), 400, "refused")
    assert error["fields"]["milk"] == [f"Only 30.5 L of {milk['code']} is left."]


def test_one_milk_twice_in_a_vat_is_refused(dairy: Dairy, maker: Device) -> None:
    milk = maker.post("milk/", _milk()).json()
    body = _make(dairy, milk["id"], milk=[{"lot": milk["id"], "litres": 50}, {"lot": milk["id"], "litres": 60}])

    assert "twice" in str(refusal(maker.post("makes/", body), 400, "bad_input")["fields"]["milk"])


@pytest.mark.parametrize("field", ["vat", "milk", "started_at", "note"])
def test_the_same_make_with_other_content_is_a_conflict(dairy: Dairy, maker: Device, field: str) -> None:
    milk = _accepted(maker)
    body = _make(dairy, milk["id"])
    first = maker.post("makes/", body)
    assert maker.post("makes/", body).json() == first.json()
    change = {
        "vat": str(dairy.room.id),
        "milk": [{"lot": milk["id"], "litres": 20}],
        "started_at": iso(NOW - timedelta(minutes=29)),
        "note": "Another.",
    }

    refusal(maker.post("makes/", body | {field: change[field]}), 409, "conflict")
    assert Make.objects.count() == 1


def _event(**more: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "kind": "starter_added", "occurred_at": iso(NOW - timedelta(minutes=10))} | more


def test_an_event_brings_what_follows_from_it(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=30))
    answer = maker.post(f"makes/{make.lot_id}/events/", _event(note=" 2 % by volume "))

    assert answer.status_code == 201
    assert (answer.json()["kind"], answer.json()["note"]) == ("starter_added", "2 % by volume")
    due = maker.get("due-checks/", lot=str(make.lot_id)).json()["results"]
    # pH is looked at 2, 4 and 6 hours after the starter, as the plan says.
    assert [one["due_at"] for one in due if one["name"] == "pH of the curd"] == [
        "2026-03-10T10:20:00Z",
        "2026-03-10T12:20:00Z",
        "2026-03-10T14:20:00Z",
    ]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"kind": "flown_to_the_moon"}, "bad_input"),
        ({"occurred_at": iso(NOW + timedelta(minutes=3))}, "refused"),
        ({"occurred_at": iso(NOW - timedelta(hours=3))}, "refused"),
        ({"place": str(uuid4())}, "refused"),
    ],
)
def test_an_event_that_cannot_be_is_refused(dairy: Dairy, maker: Device, change: dict[str, str], code: str) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=30))
    before = LotEvent.objects.count()
    error = refusal(maker.post(f"makes/{make.lot_id}/events/", _event() | change), 400, code)

    assert set(error["fields"]) == set(change)
    assert LotEvent.objects.count() == before


@pytest.mark.parametrize("field", ["kind", "occurred_at", "place", "note"])
def test_the_same_event_with_other_content_is_a_conflict(dairy: Dairy, maker: Device, field: str) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=30))
    body = _event()
    first = maker.post(f"makes/{make.lot_id}/events/", body)
    assert maker.post(f"makes/{make.lot_id}/events/", body).json() == first.json()
    change = {"kind": "cut", "occurred_at": iso(NOW), "place": str(dairy.vat.id), "note": "x"}

    refusal(maker.post(f"makes/{make.lot_id}/events/", body | {field: change[field]}), 409, "conflict")


def test_another_dairys_batch_and_milk_are_not_there(dairy: Dairy, stranger: Device) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=30))
    milk = MilkLot.objects.get()

    refusal(stranger.get(f"makes/{make.lot_id}/"), 404, "not_found")
    refusal(stranger.get(f"milk/{milk.lot_id}/"), 404, "not_found")
    refusal(stranger.post(f"makes/{make.lot_id}/events/", _event()), 404, "not_found")
    assert stranger.get("makes/").json()["results"] == stranger.get("milk/").json()["results"] == []
    assert stranger.get("due-checks/", lot=str(make.lot_id)).json()["results"] == []
