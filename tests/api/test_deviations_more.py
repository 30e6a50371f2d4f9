"""Deviations: widened and narrowed, tasks, evidence, the look at the effectiveness, ends of lots."""

import hashlib
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from batches.making.models import Make
from batches.stock import actions as stock
from haccp.deviations.models import CorrectiveStep, Evidence, ImplicatedLot, LotEnd, Task, Widening
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold
from tests.api.conftest import NOW
from tests.api.device import ROOT, Device, iso, refusal
from tests.dairy import HOUR, PASSWORD, Dairy

TODAY = NOW.date()


@pytest.fixture
def make(dairy: Dairy) -> Make:
    return dairy.start_make(at=NOW - HOUR)


@pytest.fixture
def other(dairy: Dairy) -> Make:
    return dairy.start_make(at=NOW - timedelta(minutes=80))


@pytest.fixture
def address(dairy: Dairy, helper: Device, make: Make) -> str:
    """Of a deviation at a critical control point, which holds the batch at once."""
    body = {
        "id": str(uuid4()),
        "control_point": str(dairy.check("Heat treatment").control_point_id),
        "summary": "The recorder was found high.",
        "occurred_at": iso(NOW - timedelta(minutes=15)),
        "lots": [str(make.pk)],
    }
    assert helper.post("deviations/", body).status_code == 201
    return f"deviations/{body['id']}/"


def closed(maker: Device, address: str, make: Make, disposition: str) -> None:
    """With every element of 21 CFR 117.150(a)(2) and (b)."""
    steps: list[dict[str, Any]] = [{"kind": kind} for kind in ("cause", "correction", "prevention", "reassessment")]
    steps.append({"kind": "disposition", "lot": str(make.pk), "disposition": disposition})
    for step in steps:
        answer = maker.post(f"{address}steps/", {"id": str(uuid4()), "text": "As in the book."} | step)
        assert answer.status_code == 201, answer.content
    signed = {"password": PASSWORD, "seen_sha256": answer.json()["content_sha256"]}
    assert maker.post(f"{address}closure/", signed).status_code == 201


def held() -> set[Any]:
    return set(Hold.objects.standing().values_list("lot", flat=True))


def test_widening_holds_what_it_adds_and_narrowing_needs_the_right_and_a_reason(
    dairy: Dairy, maker: Device, helper: Device, address: str, make: Make, other: Make
) -> None:
    suggested = helper.get(f"{address}widenings/").json()
    assert suggested["widenings"] == []
    # Common practice, no source: a vat is shared by the makes of a day.
    assert (str(other.pk), f"Vat 1 was used for it before {make.lot.code}, within a day") in [
        (one["lot"], one["why"]) for one in suggested["suggested"]
    ]
    body = {"id": str(uuid4()), "lots": [str(other.pk)], "reason": "They shared the vat."}
    told = helper.post(f"{address}widenings/", body)
    assert told.status_code == 201
    assert {one["code"] for one in told.json()["implicated"]} == {make.lot.code, other.lot.code}
    assert held() == {make.pk, other.pk}
    assert helper.post(f"{address}widenings/", body).json() == told.json()
    assert Widening.objects.count() == 1
    listed = helper.get(f"{address}widenings/").json()
    assert str(other.pk) not in {one["lot"] for one in listed["suggested"]}
    assert [(one["reason"], one["lots"]) for one in listed["widenings"]] == [(body["reason"], [str(other.pk)])]

    narrowing = {"id": str(uuid4()), "lot": str(other.pk), "text": "Its own recorder was used."}
    refusal(helper.post(f"{address}narrowings/", narrowing), 403, "not_allowed")
    error = refusal(maker.post(f"{address}narrowings/", narrowing | {"text": "  "}), 400, "refused")
    assert error["fields"]["text"] == ["Say why this is safe to do with the product."]
    # Nor by the way of the steps, which everybody who records may take.
    step = {"id": str(uuid4()), "kind": "disposition", "lot": str(other.pk), "disposition": "not_touched", "text": "x"}
    refusal(helper.post(f"{address}steps/", step), 403, "not_allowed")
    assert held() == {make.pk, other.pk}
    answer = maker.post(f"{address}narrowings/", narrowing)
    assert answer.status_code == 201
    assert answer.json()["steps"][-1]["disposition"] == "not_touched"
    assert held() == {make.pk}
    assert CorrectiveStep.objects.count() == 1
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"reason": " "}, "reason", "Say why these may be touched as well."),
        ({"lots": []}, "lots", "Choose at least one lot of this dairy."),
        ({"lots": [str(uuid4())]}, "lots", "Choose at least one lot of this dairy."),
    ],
)
def test_a_widening_that_says_too_little_is_refused(
    helper: Device, address: str, other: Make, change: dict[str, Any], field: str, words: str
) -> None:
    body = {"id": str(uuid4()), "lots": [str(other.pk)], "reason": "Same vat."} | change
    assert refusal(helper.post(f"{address}widenings/", body), 400, "refused")["fields"] == {field: [words]}
    assert not Widening.objects.exists()
    assert ImplicatedLot.objects.count() == 1


def test_another_hold_of_the_same_lot_outlives_a_narrowing(
    dairy: Dairy, maker: Device, helper: Device, address: str, make: Make
) -> None:
    second = {
        "id": str(uuid4()), "control_point": str(dairy.check("Heat treatment").control_point_id),
        "summary": "It tasted of soap.", "occurred_at": iso(NOW), "lots": [str(make.pk)],
    }  # fmt: skip
    assert helper.post("deviations/", second).status_code == 201
    body = {"id": str(uuid4()), "lot": str(make.pk), "text": "The recorder was the other one."}
    assert maker.post(f"{address}narrowings/", body).status_code == 201
    assert held() == {make.pk}


def test_tasks_are_given_done_and_keep_the_deviation_open(
    dairy: Dairy, maker: Device, helper: Device, address: str, make: Make
) -> None:
    people = {one["name"]: one["id"] for one in maker.get("dairy/").json()["people"]}
    body = {"id": str(uuid4()), "title": "Order a probe", "owner": people["Hanna Helper"], "due_on": str(TODAY)}
    told = maker.post(f"{address}tasks/", body, key="one")
    assert told.status_code == 201
    assert (told.json()["owner_name"], told.json()["done"]) == ("Hanna Helper", None)
    assert maker.post(f"{address}tasks/", body, key="one").headers["Idempotent-Replay"] == "true"
    refusal(maker.post(f"{address}tasks/", body | {"title": "Other"}), 409, "conflict")
    assert "Order a probe (Hanna Helper) is still to be done." in maker.get(address).json()["missing"]

    done = f"deviations/tasks/{body['id']}/done/"
    assert refusal(helper.post(done, {"note": ""}), 400, "refused")["fields"]["note"]
    answer = helper.post(done, {"note": "Ordered at the dealer's."}).json()
    assert (answer["done"]["note"], answer["done"]["worked"], answer["done"]["done_by"]) == (
        "Ordered at the dealer's.", None, "Hanna Helper",
    )  # fmt: skip
    refusal(maker.post(done, {"note": "No, I did."}), 409, "conflict")

    closed(maker, address, make, "release")
    tasks = maker.get(f"{address}tasks/").json()["results"]
    # Common practice, no source: a month after the closure.
    assert [(one["kind"], one["due_on"]) for one in tasks] == [
        ("action", str(TODAY)), ("effectiveness", str(TODAY + timedelta(days=30))),
    ]  # fmt: skip
    look = f"deviations/tasks/{tasks[1]['id']}/done/"
    error = refusal(maker.post(look, {"note": "No more of it."}), 400, "refused")
    assert error["fields"]["worked"] == ["Say whether it worked."]
    assert maker.post(look, {"note": "No more of it.", "worked": True}).json()["done"]["worked"] is True
    refusal(maker.post(f"{address}tasks/", body | {"id": str(uuid4())}), 409, "conflict")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"title": " "}, "title"),
        ({"owner": str(uuid4())}, "owner"),
        ({"due_on": str(TODAY - timedelta(days=1))}, "due_on"),
    ],
)
def test_a_task_that_nobody_could_do_is_refused(
    dairy: Dairy, maker: Device, address: str, change: dict[str, str], field: str
) -> None:
    body = {"id": str(uuid4()), "title": "Mend it", "owner": str(dairy.helper.user.pk), "due_on": str(TODAY)}
    assert field in refusal(maker.post(f"{address}tasks/", body | change), 400, "refused")["fields"]
    assert not Task.objects.exists()


def attach(device: Device, address: str, content: bytes | None, **fields: str) -> Any:
    body: dict[str, Any] = {"id": str(uuid4()), **fields}
    if content is not None:
        body["file"] = SimpleUploadedFile('vat "1".txt', content)
    return device.client.post(f"{ROOT}{address}evidence/", body, format="multipart")


def test_evidence_is_kept_and_given_back_byte_for_byte(
    helper: Device, consultant: Device, stranger: Device, address: str, settings: Any
) -> None:
    content = "Ventil undicht: 4 °C\t".encode("latin-1")
    kept = attach(helper, address, content, note="The vat.")
    assert kept.status_code == 201
    assert kept.json()["sha256"] == hashlib.sha256(content).hexdigest()
    assert kept.json()["size_bytes"] == len(content)
    listed = helper.get(f"{address}evidence/").json()["results"]
    assert [(one["note"], one["attached_by"]) for one in listed] == [("The vat.", "Hanna Helper")]
    where = f"deviations/evidence/{kept.json()['id']}/content/"
    answer = helper.get(where)
    assert answer.content == content
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    refusal(stranger.get(where), 404, "not_found")

    refusal(attach(consultant, address, b"x"), 403, "not_allowed")
    disguised = refusal(attach(helper, address, b"<svg onload=alert(1)>"), 400, "refused")
    assert "by its content" in disguised["fields"]["file"][0]
    missing = refusal(attach(helper, address, None), 400, "refused")
    assert missing["fields"]["file"] == ["Choose the file: a photograph, a report, a letter."]
    assert "empty" in refusal(attach(helper, address, b""), 400, "refused")["message"]
    settings.RECORDER_FILE_MAX_BYTES = 1000
    assert "Send a smaller picture" in refusal(attach(helper, address, b"x" * 5000), 413, "too_large")["message"]
    assert Evidence.objects.count() == 1


def test_the_end_of_a_lot_is_recorded_as_decided_and_nothing_of_it_leaves(
    dairy: Dairy, maker: Device, helper: Device, address: str, make: Make
) -> None:
    (wheel,) = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3", unit="kg", entered_at=NOW
    )
    shop = stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="Shop", phone="1")
    end = {"id": str(uuid4()), "lot": str(make.pk), "note": "Buried with lime.", "ended_at": iso(NOW)}
    assert "still open" in refusal(maker.post(f"{address}ends/", end), 400, "refused")["message"]
    closed(maker, address, make, "destroy")
    assert [one["lot"] for one in maker.get(f"{address}ends/").json()["awaited"]] == [str(make.pk)]
    refusal(helper.post(f"{address}ends/", end), 403, "not_allowed")
    for change, field in (
        ({"note": ""}, "note"),
        ({"lot": str(uuid4())}, "lot"),
        ({"ended_at": iso(NOW + HOUR)}, "ended_at"),
    ):
        assert field in refusal(maker.post(f"{address}ends/", end | change), 400, "refused")["fields"]
    assert held() == {make.pk}
    answer = maker.post(f"{address}ends/", end)
    assert (answer.status_code, answer.json()["disposition"]) == (201, "destroy")
    assert maker.post(f"{address}ends/", end).json() == answer.json()
    refusal(maker.post(f"{address}ends/", end | {"id": str(uuid4())}), 409, "conflict")
    ends = maker.get(f"{address}ends/").json()
    assert ([one["code"] for one in ends["ended"]], ends["awaited"]) == ([make.lot.code], [])
    assert LotEnd.objects.count() == 1
    # Its hold ended with it, and still nothing of it leaves.
    assert held() == set()
    sent = {
        "id": str(uuid4()), "customer": str(shop.pk), "items": [str(wheel.pk)], "document_number": "1",
        "dispatched_at": iso(NOW),
    }  # fmt: skip
    assert "is no more: destroy" in refusal(maker.post("dispatches/", sent), 400, "refused")["message"]


def test_another_dairys_deviation_is_not_there(stranger: Device, address: str, make: Make) -> None:
    for way in ("widenings/", "tasks/", "evidence/", "ends/"):
        refusal(stranger.get(f"{address}{way}"), 404, "not_found")
    for way in ("widenings/", "narrowings/", "tasks/", "ends/"):
        refusal(stranger.post(f"{address}{way}", {"id": str(uuid4())}), 404, "not_found")
