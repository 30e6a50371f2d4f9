"""Recalls and traces: the clock, the lot, the customers, the mass balance, as a device sees them."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from batches.making.models import Make
from batches.recall.models import Recall, RecallMark
from batches.stock import actions as stock
from batches.stock.models import Customer
from batches.tracing import actions as tracing
from haccp.deviations import actions as deviations
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from tests.api.conftest import OPENED
from tests.api.device import Device, iso, refusal
from tests.dairy import HOUR, Dairy
from tests.release.ready import ready_batch, released

MADE = OPENED + 3 * HOUR
LATER = MADE + timedelta(days=1)


@pytest.fixture
def make(dairy: Dairy, clock: time_machine.Traveller) -> Make:
    """Released, 9.3 kg in three wheels; the clock stands at LATER."""
    clock.move_to(LATER)
    make = ready_batch(dairy, at=MADE)
    stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0\n3.1\n3.2", unit="kg",
        entered_at=LATER, place_id=dairy.room.pk,
    )  # fmt: skip
    released(dairy, make, now=LATER)
    return make


@pytest.fixture
def shop(dairy: Dairy, make: Make) -> Customer:
    """Was sent the first wheel, 3.0 kg."""
    shop = stock.customer_add(
        scope=dairy.maker, customer_id=uuid4(), name="Corner Shop", contact="Ms Byrne", phone="+353 1 555 0100"
    )
    stock.dispatch_record(
        scope=dairy.maker, dispatch_id=uuid4(), customer_id=shop.pk, item_ids=[make.lot.items.get(number=1).pk],
        document_type="delivery note", document_number="DN 17", dispatched_at=LATER,
    )  # fmt: skip
    return shop


def begun(device: Device, **more: Any) -> dict[str, Any]:
    body = {"id": str(uuid4()), "kind": "exercise", "reason": "Yearly exercise."} | more
    answer = device.post("recalls/", body)
    assert answer.status_code == 201, answer.content
    told: dict[str, Any] = answer.json()
    return told


def test_a_recall_from_the_start_of_the_clock_to_its_end(
    dairy: Dairy, helper: Device, make: Make, shop: Customer, clock: time_machine.Traveller
) -> None:
    body = {"id": str(uuid4()), "kind": "exercise", "reason": "Yearly exercise."}
    first = helper.post("recalls/", body, key="a")
    assert helper.post("recalls/", body, key="a").json() == first.json()
    refusal(helper.post("recalls/", body | {"kind": "real"}), 409, "conflict")
    assert (first.json()["clock_s"], first.json()["lots"], first.json()["figures"]) == (0.0, [], None)
    address = f"recalls/{body['id']}/"
    clock.shift(40)
    end = {"id": str(uuid4()), "note": "The list was at hand."}
    assert "Choose the lot first" in refusal(helper.post(f"{address}finish/", end), 400, "refused")["message"]

    milk = make.lot.links_in.get().parent
    choice = {"id": str(uuid4()), "lot": str(milk.pk), "reach": "forward"}
    chosen = helper.post(f"{address}lot/", choice)
    assert chosen.status_code == 201
    told = chosen.json()
    assert [one["code"] for one in told["lots"]] == [milk.code, make.lot.code]
    cheese = told["lots"][1]
    assert cheese["dispatched_kg"] == pytest.approx(3.0)
    assert cheese["where"] == [{"place": "Room 1", "weight_kg": pytest.approx(6.3)}]
    assert cheese["balance"]["there"] == pytest.approx(9.3)
    assert cheese["balance"]["unexplained"] == pytest.approx(0.0)
    assert told["not_held"] == [make.lot.code]
    (call,) = told["customers"]
    assert (call["customer"]["name"], call["customer"]["phone"]) == ("Corner Shop", "+353 1 555 0100")
    assert (call["pieces"], call["weight_kg"], call["reached"]) == (1, pytest.approx(3.0), None)
    assert call["sent"][0]["document"] == "delivery note DN 17"
    refusal(helper.post(f"{address}lot/", choice | {"id": str(uuid4())}), 409, "conflict")

    clock.shift(100)
    reached = {"id": str(uuid4()), "customer": str(shop.pk), "note": "Two left, put aside."}
    answer = helper.post(f"{address}reached/", reached).json()
    assert answer["customers"][0]["reached"]["note"] == "Two left, put aside."
    assert answer["customers"][0]["reached"]["elapsed_s"] == 140.0
    # The same mark of another customer, or with another answer, is another mark.
    refusal(helper.post(f"{address}reached/", reached | {"note": "Nothing left."}), 409, "conflict")
    refusal(helper.post(f"{address}reached/", reached | {"id": str(uuid4())}), 409, "conflict")
    clock.shift(60)
    assert refusal(helper.post(f"{address}finish/", end | {"note": " "}), 400, "refused")["fields"]["note"]
    assert helper.post(f"{address}finish/", end).json()["clock_s"] == 200.0
    clock.shift(1000)
    told = helper.get(address).json()
    assert (told["clock_s"], told["is_finished"]) == (200.0, True)
    assert [(one["kind"], one["elapsed_s"]) for one in told["recall"]["marks"]] == [
        ("chosen", 40.0), ("reached", 140.0), ("finished", 200.0),
    ]  # fmt: skip
    refusal(helper.post(f"{address}reached/", reached | {"id": str(uuid4())}), 409, "conflict")
    (listed,) = helper.get("recalls/").json()["results"]
    assert listed == told["recall"]
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_what_is_on_hold_is_told_and_stays_so(dairy: Dairy, helper: Device, make: Make) -> None:
    deviations.deviation_report(
        scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Heat treatment").control_point_id,
        summary="The recorder was found high.", occurred_at=LATER, lot_ids=[make.pk],
    )  # fmt: skip
    address = f"recalls/{begun(helper, kind='real')['recall']['id']}/"
    told = helper.post(f"{address}lot/", {"id": str(uuid4()), "lot": str(make.pk)}).json()
    assert (told["lots"][0]["is_held"], told["not_held"]) == (True, [])
    assert told["figures"]["on_hold_kg"] == pytest.approx(9.3)
    helper.post(f"{address}finish/", {"id": str(uuid4()), "note": "All of it was stopped."})
    assert make.lot.holds.standing().exists()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"reason": " "}, "reason"),
        ({"repeat_after_days": -1}, "repeat_after_days"),
        ({"repeat_after_days": 5000}, "repeat_after_days"),
    ],
)
def test_a_recall_that_says_too_little_is_not_begun(helper: Device, change: dict[str, Any], field: str) -> None:
    body = {"id": str(uuid4()), "kind": "real", "reason": "A complaint."} | change
    assert field in refusal(helper.post("recalls/", body), 400, "refused")["fields"]
    assert not Recall.objects.exists()


def test_a_recall_is_led_by_who_records_and_here_alone(
    helper: Device, consultant: Device, stranger: Device, make: Make, shop: Customer
) -> None:
    refusal(consultant.post("recalls/", {"id": str(uuid4()), "kind": "real", "reason": "x"}), 403, "not_allowed")
    address = f"recalls/{begun(helper)['recall']['id']}/"
    bodies = {
        "lot/": {"lot": str(make.pk)}, "reached/": {"customer": str(shop.pk)}, "finish/": {"note": "Done."},
    }  # fmt: skip
    for way, body in bodies.items():
        refusal(consultant.post(address + way, {"id": str(uuid4())} | body), 403, "not_allowed")
        refusal(stranger.post(address + way, {"id": str(uuid4())} | body), 404, "not_found")
    refusal(stranger.get(address), 404, "not_found")
    theirs = f"recalls/{begun(stranger)['recall']['id']}/"
    error = refusal(stranger.post(f"{theirs}lot/", {"id": str(uuid4()), "lot": str(make.pk)}), 400, "refused")
    assert "no such lot at this dairy" in error["fields"]["lot"][0]
    error = refusal(stranger.post(f"{theirs}reached/", {"id": str(uuid4()), "customer": str(shop.pk)}), 400, "refused")
    assert "no such customer" in error["fields"]["customer"][0]
    assert not RecallMark.objects.exists()


def test_a_trace_goes_one_step_and_all_the_way_with_the_balance_of_each_lot(
    dairy: Dairy, consultant: Device, stranger: Device, make: Make, shop: Customer
) -> None:
    whey = tracing.by_product_record(
        scope=dairy.maker,
        lot_id=uuid4(),
        from_lot_id=make.pk,
        kind="whey",
        amount="150",
        unit="L",
        drawn_at=MADE + HOUR,
    )
    milk = make.lot.links_in.get().parent
    told = consultant.get(f"lots/{milk.pk}/trace/").json()
    assert (told["lot"]["code"], told["back"], told["ancestors"]) == (milk.code, [], [])
    assert told["forward"] == [{"lot": str(make.pk), "code": make.lot.code, "amount": 200.0, "unit": "L"}]
    assert [one["code"] for one in told["descendants"]] == [make.lot.code, whey.lot.code]
    assert [(one["from_lot"], one["into_lot"]) for one in told["links"]] == [
        (str(milk.pk), str(make.pk)), (str(make.pk), str(whey.pk)),
    ]  # fmt: skip
    balances = {one["lot"]: one for one in told["balances"]}
    # 3.0 kg dispatched and 6.3 kg in stock of 9.3 kg.
    cheese = balances[str(make.pk)]
    assert {one["words"]: one["amount"] for one in cheese["outlets"]} == {
        "dispatched": pytest.approx(3.0), "in stock": pytest.approx(6.3),
    }  # fmt: skip
    assert (cheese["unit"], cheese["there"], cheese["is_balanced"]) == ("kg", pytest.approx(9.3), True)
    # Nobody wrote down where the whey went.
    assert balances[str(whey.pk)]["unexplained"] == pytest.approx(150.0)
    assert balances[str(whey.pk)]["is_balanced"] is False
    assert [(one["customer_name"], one["weight_kg"]) for one in told["sent"]] == [("Corner Shop", pytest.approx(3.0))]

    back = consultant.get(f"lots/{whey.pk}/trace/").json()
    assert [one["code"] for one in back["back"]] == [make.lot.code]
    assert {one["code"] for one in back["ancestors"]} == {milk.code, make.lot.code}
    refusal(stranger.get(f"lots/{milk.pk}/trace/"), 404, "not_found")
    assert back["lot"]["what"] == "whey"


def test_pieces_come_back_once(dairy: Dairy, make: Make, shop: Customer, maker: Device, stranger: Device) -> None:
    sent = shop.dispatches.get()
    (event,) = sent.events.all()
    body = {"id": str(uuid4()), "items": [str(event.item_id)], "returned_at": iso(LATER + HOUR), "note": ""}
    address = f"dispatches/{sent.pk}/returns/"
    with time_machine.travel(LATER + 2 * HOUR, tick=False):
        assert "Say why it came back" in refusal(maker.post(address, body), 400, "refused")["message"]
        back = maker.post(address, body | {"note": "Rind split."})
        assert back.status_code == 201, back.content
        assert [(one["number"], one["now_kg"], one["is_here"]) for one in back.json()] == [(4, 3.0, True)]
        again = maker.post(address, body | {"note": "Rind split.", "id": str(uuid4())})
        assert again.status_code == 409
        assert stranger.post(address, body | {"note": "Mine."}).status_code == 404
