"""What falls due, as a device sees it."""

from datetime import timedelta

import time_machine

from haccp.checks import actions as checks
from tests.api.conftest import NOW
from tests.api.device import Device, refusal, room_body
from tests.dairy import Dairy


def test_today_says_what_is_late_due_and_later(morning: Dairy, maker: Device, clock: time_machine.Traveller) -> None:
    today = maker.get("today/").json()

    # 08:30: the room's check of 08:00 is late but within its grace; the vat is cleaned at 17:00.
    assert [due["name"] for due in today["late"]] == ["Room 1 temperature"]
    assert today["due"] == []
    assert [due["name"] for due in today["later"]] == ["Vat 1 cleaned"]
    assert today["missed"] == []
    assert today["late"][0]["due_at"] == "2026-03-10T08:00:00Z"
    assert today["late"][0]["place"] == "Room 1"

    clock.move_to(NOW.replace(hour=7, minute=15))
    assert [due["name"] for due in maker.get("today/").json()["due"]] == ["Room 1 temperature"]


def test_what_was_missed_is_shown_until_somebody_says_why(
    morning: Dairy, maker: Device, clock: time_machine.Traveller
) -> None:
    clock.move_to(NOW + timedelta(hours=3))
    checks.sweep(now=NOW + timedelta(hours=3))
    missed = maker.get("today/").json()["missed"]
    assert [(one["due"]["name"], one["reason"]) for one in missed] == [("Room 1 temperature", None)]
    assert missed[0]["missed_at"] == "2026-03-10T10:00:00Z"

    refusal(maker.post(f"missed/{missed[0]['id']}/reason/", {"text": "  "}), 400, "refused")
    told = maker.post(f"missed/{missed[0]['id']}/reason/", {"text": "The room was being washed."})
    assert told.status_code == 201
    assert told.json()["reason"] == "The room was being washed."
    assert maker.get("today/").json()["missed"] == []

    refusal(maker.post(f"missed/{missed[0]['id']}/reason/", {"text": "Forgotten."}), 409, "conflict")


def test_due_checks_of_one_lot(morning: Dairy, maker: Device) -> None:
    make = morning.start_make(at=NOW - timedelta(minutes=30))
    all_due = maker.get("due-checks/").json()["results"]
    of_lot = maker.get("due-checks/", lot=str(make.lot_id)).json()["results"]

    assert [due["name"] for due in of_lot] == ["Heat treatment"]
    assert of_lot[0]["lot_code"] == make.lot.code
    assert {due["name"] for due in all_due} >= {"Heat treatment", "Milk acceptance", "Vat 1 cleaned"}
    assert [due["due_at"] for due in all_due] == sorted(due["due_at"] for due in all_due)

    error = refusal(maker.get("due-checks/", lot="none"), 400, "bad_input")
    assert "lot" in error["fields"]


def test_a_due_check_says_what_to_measure_and_what_will_judge_it(morning: Dairy, maker: Device) -> None:
    due_id = maker.get("today/").json()["late"][0]["id"]
    definition = maker.get(f"due-checks/{due_id}/").json()["definition"]

    assert definition["control_point"] == "CCP 3 Ripening room"
    assert definition["corrective_action"].startswith("Move the cheeses")
    assert [(one["label"], one["required"]) for one in definition["measures"]] == [
        ("Top shelf", True),
        ("Bottom shelf", False),
    ]
    limit = definition["measures"][0]["limits"][0]
    assert (limit["low"], limit["high"], limit["unit"]) == (8.0, 14.0, "°C")
    assert limit["statement"] == "Air between 8 and 14 °C"

    same = maker.get(f"checks/{definition['id']}/").json()
    assert same == definition


def test_a_check_that_was_done_is_due_no_more(morning: Dairy, maker: Device) -> None:
    due_id = maker.get("today/").json()["late"][0]["id"]
    assert maker.post("records/", room_body(morning, "11", at=NOW, due=due_id)).status_code == 201

    assert maker.get("today/").json()["late"] == []
    assert maker.get(f"due-checks/{due_id}/").json()["settled_at"] == "2026-03-10T08:30:00Z"


def test_the_plan_in_force_names_what_a_device_needs(dairy: Dairy, maker: Device) -> None:
    plan = maker.get("plan/").json()

    assert (plan["number"], plan["effective_from"]) == (1, "2026-03-10T06:00:00Z")
    assert [(one["id"], one["code"]) for one in plan["products"]] == [(str(dairy.product.id), "WT")]
    points = {point["code"]: point for point in plan["control_points"]}
    assert set(points) == {"CCP 1", "CCP 2", "CCP 3", "PRP 1", "PRP 2", "REVIEW"}
    assert points["CCP 1"]["limits"] == ["At least 63 °C for 30 min"]
    assert [one["name"] for one in points["CCP 2"]["checks"]] == ["pH of the curd"]


def test_before_any_plan_is_in_force_there_is_none(dairy: Dairy, maker: Device, clock: time_machine.Traveller) -> None:
    clock.move_to(NOW - timedelta(days=1))

    assert "have the plan approved" in refusal(maker.get("plan/"), 404, "not_found")["message"]
