"""Records: what was typed, what it is worth, how it was judged, and that it is there once."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from haccp.checks.models import Reading, Record
from haccp.deviations.models import Deviation
from haccp.lots.models import Hold
from tests.api.conftest import NOW
from tests.api.device import Device, iso, record_body, refusal, room_body
from tests.dairy import Dairy


def test_a_reading_with_a_decimal_comma_is_kept_as_typed_and_in_si(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11,5", at=NOW - timedelta(minutes=4), device_at=iso(NOW), note=" Door shut. ")
    answer = maker.post("records/", body)

    assert answer.status_code == 201
    record = answer.json()
    assert record["id"] == body["id"]
    assert record["name"] == "Room 1 temperature"
    assert record["readings"] == [
        {
            "measure": body["entries"][0]["measure"],
            "label": "Top shelf",
            "value_si": 11.5,
            "choice": "",
            "typed_text": "11,5",
            "typed_unit": "°C",
        }
    ]
    # When it was observed, when the server took it, and what the device's clock said stand side by side.
    assert (record["observed_at"], record["recorded_at"]) == ("2026-03-10T08:26:00Z", "2026-03-10T08:30:00Z")
    assert record["device_at"] == "2026-03-10T08:30:00Z"
    assert (record["recorded_by"], record["note"]) == ("Milo Maker", "Door shut.")
    assert [(one["ruling"], one["limit_statement"]) for one in record["rulings"]] == [
        ("met", "Air between 8 and 14 °C")
    ]
    assert maker.get(f"records/{body['id']}/").json() == record


def test_fahrenheit_is_turned_into_celsius(dairy: Dairy, maker: Device) -> None:
    record = maker.post("records/", room_body(dairy, ("50", "°F"), at=NOW)).json()

    # 50 °F is 10 °C exactly: °C = (°F − 32) × 5/9, NIST SP 811 appendix B.8.
    assert record["readings"][0]["value_si"] == pytest.approx(10.0, abs=1e-12)
    assert (record["readings"][0]["typed_text"], record["readings"][0]["typed_unit"]) == ("50", "°F")


def test_several_readings_under_one_limit_are_judged_together(dairy: Dairy, maker: Device) -> None:
    record = maker.post("records/", room_body(dairy, "11", "16.5", at=NOW)).json()

    assert [one["value_si"] for one in record["readings"]] == [11.0, 16.5]
    assert [one["ruling"] for one in record["rulings"]] == ["breached"]
    assert Deviation.objects.count() == 1


def test_an_answer_is_judged_and_opens_a_deviation(dairy: Dairy, maker: Device) -> None:
    milk = dairy.receive_milk(at=NOW)
    body = record_body(
        dairy,
        "Milk acceptance",
        "3,8",
        "positive",
        at=NOW,
        lot=str(milk.lot_id),
        instrument=str(dairy.thermometer.id),
    )
    record = maker.post("records/", body).json()

    assert {one["limit_statement"]: one["ruling"] for one in record["rulings"]} == {
        "Milk at most 10 °C on arrival": "met",
        "Residue test negative": "breached",
    }
    assert record["readings"][1]["choice"] == "positive"
    listed = maker.get("deviations/").json()["results"]
    assert [one["control_point"] for one in listed] == ["PRP 1 Milk acceptance"]


def test_a_breach_at_a_critical_point_holds_the_batch(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=40))
    dairy.event(make, "placed_in_room", at=NOW - timedelta(minutes=30), place=dairy.room)
    maker.post("records/", room_body(dairy, "17", at=NOW))

    assert [hold.lot_id for hold in Hold.objects.standing()] == [make.lot_id]
    assert maker.get(f"makes/{make.lot_id}/").json()["is_held"] is True


def test_the_same_record_sent_twice_is_one_record(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11,0", at=NOW)
    first, again = maker.post("records/", body), maker.post("records/", body)

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert Record.objects.count() == 1
    assert Reading.objects.count() == 1


OTHER: dict[str, Any] = {
    "observed_at": iso(NOW - timedelta(minutes=1)),
    "note": "Another note.",
    "check_id": "Vat 1 cleaned",
    "entries": "11,1",
    "instrument": "pH meter",
}


@pytest.mark.parametrize("field", OTHER)
def test_the_same_id_with_other_content_is_a_conflict(dairy: Dairy, maker: Device, field: str) -> None:
    body = room_body(dairy, "11,0", at=NOW)
    maker.post("records/", body)
    changed: dict[str, Any] = {
        "check_id": {"check_id": str(dairy.check("Vat 1 cleaned").id)},
        "entries": {"entries": [body["entries"][0] | {"text": OTHER["entries"]}]},
        "instrument": {"instrument": str(dairy.ph_meter.id)},
    }.get(field, {field: OTHER[field]})

    error = refusal(maker.post("records/", body | changed), 409, "conflict")
    assert "amend it instead" in error["message"]
    assert Record.objects.count() == 1


def test_the_device_clock_of_a_later_try_is_no_other_content(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11,0", at=NOW, device_at=iso(NOW))
    maker.post("records/", body)

    again = maker.post("records/", body | {"device_at": iso(NOW + timedelta(hours=1))})
    assert again.status_code == 200
    assert again.json()["device_at"] == iso(NOW)


def test_an_id_of_another_dairy_is_not_given_away(dairy: Dairy, maker: Device, stranger: Device) -> None:
    body = room_body(dairy, "11,0", at=NOW)
    maker.post("records/", body)

    # The same answer as for any id that is taken: nothing of the other's record is told.
    error = refusal(stranger.post("records/", body), 409, "conflict")
    assert "11" not in error["message"]


def test_a_check_is_done_once_by_whoever_was_first(morning: Dairy, maker: Device, helper: Device) -> None:
    due_id = maker.get("today/").json()["late"][0]["id"]
    assert maker.post("records/", room_body(morning, "11", at=NOW, due=due_id)).status_code == 201

    error = refusal(helper.post("records/", room_body(morning, "11,2", at=NOW, due=due_id)), 409, "conflict")
    assert error["message"].startswith("Milo Maker has already done this check.")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Enter Top shelf."),
        ("eleven", "is not a number"),
        ("9999", "9999"),
        ("1" * 90, "not a number that Top shelf can have"),
        ("NaN", "is not a temperature"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_measure(dairy: Dairy, maker: Device, typed: str, sentence: str) -> None:
    body = room_body(dairy, "11", at=NOW)
    measure = body["entries"][0]["measure"]
    body["entries"][0]["text"] = typed
    error = refusal(maker.post("records/", body), 400, "refused")

    assert sentence in error["fields"][f"measure-{measure}"][0]
    assert not Record.objects.exists()


def test_all_that_is_wrong_is_said_at_once(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "warm", "cold", at=NOW + timedelta(hours=1))
    error = refusal(maker.post("records/", body), 400, "refused")

    assert error["message"] == "3 entries need correcting."
    assert error["fields"]["observed_at"] == ["That time is in the future; correct the time."]
    assert len(error["fields"]) == 3


def test_an_entry_that_the_check_does_not_ask_is_not_dropped_in_silence(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11", at=NOW)
    body["entries"].append({"measure": str(dairy.check("Vat 1 cleaned").measures.all()[0].id), "text": "120"})

    error = refusal(maker.post("records/", body), 400, "refused")
    assert "something that Room 1 temperature does not ask" in error["fields"]["entries"][0]


def test_two_entries_for_one_measure_are_refused(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11", at=NOW)
    body["entries"] *= 2

    assert "twice" in str(refusal(maker.post("records/", body), 400, "bad_input")["fields"]["entries"])


@pytest.mark.parametrize("field", ["check_id", "instrument", "lot", "due", "trace"])
def test_an_id_that_is_not_this_dairys_is_refused(dairy: Dairy, maker: Device, field: str) -> None:
    error = refusal(maker.post("records/", room_body(dairy, "11", at=NOW, **{field: str(uuid4())})), 400, "refused")

    assert field.removesuffix("_id") in error["fields"]


def test_a_check_of_a_batch_is_not_done_for_a_milk_lot(dairy: Dairy, maker: Device) -> None:
    milk = dairy.receive_milk(at=NOW)
    body = record_body(dairy, "pH of the curd", "6,5", at=NOW, lot=str(milk.lot_id), instrument=str(dairy.ph_meter.id))

    assert "is a milk lot" in refusal(maker.post("records/", body), 400, "refused")["fields"]["lot"][0]


def test_a_check_due_for_one_batch_is_not_recorded_for_another(dairy: Dairy, maker: Device) -> None:
    one = dairy.start_make(at=NOW - timedelta(minutes=50))
    other = dairy.start_make(at=NOW - timedelta(minutes=40))
    dairy.event(one, "starter_added", at=NOW - timedelta(minutes=30))
    due = next(
        due
        for due in maker.get("due-checks/", lot=str(one.lot_id)).json()["results"]
        if due["name"] == "pH of the curd"
    )
    body = record_body(
        dairy,
        "pH of the curd",
        "6,5",
        at=NOW,
        due=due["id"],
        lot=str(other.lot_id),
        instrument=str(dairy.ph_meter.id),
    )

    error = refusal(maker.post("records/", body), 400, "refused")
    assert error["fields"]["lot"] == [f"This check is due for {one.lot.code}, not for {other.lot.code}."]


def test_channels_that_no_file_has_are_refused(dairy: Dairy, maker: Device) -> None:
    error = refusal(
        maker.post("records/", room_body(dairy, "11", at=NOW, trace_roles={"Milk": "product"})), 400, "refused"
    )

    assert "no channel named “Milk”" in error["fields"]["trace_roles"][0]


def test_records_of_a_period_and_of_a_lot(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=NOW - timedelta(minutes=50))
    dairy.event(make, "starter_added", at=NOW - timedelta(minutes=45))
    ph = record_body(
        dairy,
        "pH of the curd",
        "6,5",
        at=NOW - timedelta(minutes=20),
        lot=str(make.lot_id),
        instrument=str(dairy.ph_meter.id),
    )
    room = room_body(dairy, "11", at=NOW - timedelta(minutes=10))
    for body in (ph, room):
        assert maker.post("records/", body).status_code == 201

    def ids(**asked: str) -> list[str]:
        return [one["id"] for one in maker.get("records/", **asked).json()["results"]]

    assert ids() == [room["id"], ph["id"]]
    assert ids(lot=str(make.lot_id)) == [ph["id"]]
    assert ids(**{"from": iso(NOW - timedelta(minutes=10))}) == [room["id"]]
    assert ids(to=iso(NOW - timedelta(minutes=10))) == [ph["id"]]
    refusal(maker.get("records/", **{"from": "yesterday"}), 400, "bad_input")
    refusal(maker.get("records/", **{"from": "2026-03-10T08:00:00"}), 400, "bad_input")
