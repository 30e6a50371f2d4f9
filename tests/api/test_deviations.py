"""Deviations: reported, led through their steps, closed with a signature."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from batches.making.models import Make
from haccp.deviations.models import Closure, CorrectiveStep, Deviation
from haccp.lots.models import Hold
from tests.api.conftest import NOW
from tests.api.device import Device, iso, refusal, room_body
from tests.dairy import PASSWORD, Dairy


@pytest.fixture
def make(dairy: Dairy) -> Make:
    make = dairy.start_make(at=NOW - timedelta(minutes=50))
    dairy.event(make, "placed_in_room", at=NOW - timedelta(minutes=20), place=dairy.room)
    return make


@pytest.fixture
def deviation_id(dairy: Dairy, maker: Device, make: Make) -> str:
    """The room was too warm while the batch was in it."""
    assert maker.post("records/", room_body(dairy, "17", at=NOW)).status_code == 201
    listed = maker.get("deviations/").json()["results"]
    assert len(listed) == 1
    return str(listed[0]["id"])


def _step(kind: str, **more: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "kind": kind, "text": "The door stood open."} | more


def _lead_through(maker: Device, deviation_id: str, make: Make, disposition: str = "release") -> str:
    """Every step that closing asks for; what a signature would bind to."""
    steps = [_step(kind) for kind in ("cause", "correction", "prevention", "reassessment")]
    steps.append(_step("disposition", lot=str(make.lot_id), disposition=disposition))
    for body in steps:
        answer = maker.post(f"deviations/{deviation_id}/steps/", body)
        assert answer.status_code == 201, answer.content
    return str(answer.json()["content_sha256"])


def test_a_deviation_says_what_is_implicated_and_what_the_plan_prescribes(
    maker: Device, deviation_id: str, make: Make
) -> None:
    detail = maker.get(f"deviations/{deviation_id}/").json()

    assert detail["deviation"]["reference"] == "D2026-001"
    assert detail["deviation"]["is_open"] is True
    assert detail["prescribed"].startswith("Move the cheeses")
    assert [one["code"] for one in detail["implicated"]] == [make.lot.code]
    assert detail["missing"] == [
        "Record the cause.",
        "Record how control was regained.",
        "Record what prevents a recurrence.",
        "Record whether the plan foresaw this and has to change.",
        f"Decide what happens to {make.lot.code}.",
    ]


def test_what_is_missing_shrinks_step_by_step(maker: Device, deviation_id: str) -> None:
    detail = maker.post(f"deviations/{deviation_id}/steps/", _step("cause")).json()

    assert "Record the cause." not in detail["missing"]
    assert [(step["kind"], step["recorded_by"]) for step in detail["steps"]] == [("cause", "Milo Maker")]


def test_a_closed_deviation_is_signed_and_lifts_its_hold(
    dairy: Dairy, maker: Device, deviation_id: str, make: Make
) -> None:
    assert Hold.objects.standing().filter(lot=make.lot_id).exists()
    seen = _lead_through(maker, deviation_id, make)
    answer = maker.post(f"deviations/{deviation_id}/closure/", {"password": PASSWORD, "seen_sha256": seen})

    assert answer.status_code == 201
    assert answer.json()["deviation"]["is_open"] is False
    assert Closure.objects.get().signature.printed_name == "Milo Maker"
    assert not Hold.objects.standing().exists()
    assert maker.get("deviations/", open="true").json()["results"] == []
    assert len(maker.get("deviations/").json()["results"]) == 1
    refusal(
        maker.post(f"deviations/{deviation_id}/closure/", {"password": PASSWORD, "seen_sha256": seen}), 409, "conflict"
    )
    refusal(maker.post(f"deviations/{deviation_id}/steps/", _step("cause")), 409, "conflict")


def test_the_hold_of_what_is_destroyed_stays_for_good(maker: Device, deviation_id: str, make: Make) -> None:
    seen = _lead_through(maker, deviation_id, make, "destroy")
    maker.post(f"deviations/{deviation_id}/closure/", {"password": PASSWORD, "seen_sha256": seen})

    assert Hold.objects.standing().filter(lot=make.lot_id).exists()


def test_nothing_is_closed_with_a_wrong_password(maker: Device, deviation_id: str, make: Make) -> None:
    seen = _lead_through(maker, deviation_id, make)
    body = {"password": "open sesame", "seen_sha256": seen}
    error = refusal(maker.post(f"deviations/{deviation_id}/closure/", body), 400, "refused")

    assert error["fields"]["password"] == ["That is not your password; nothing was signed."]
    assert not Closure.objects.exists()
    assert Hold.objects.standing().exists()


def test_nothing_is_closed_while_a_step_is_missing(maker: Device, deviation_id: str) -> None:
    seen = maker.get(f"deviations/{deviation_id}/").json()["content_sha256"]
    body = {"password": PASSWORD, "seen_sha256": seen}
    error = refusal(maker.post(f"deviations/{deviation_id}/closure/", body), 400, "refused")

    assert error["message"].startswith("It cannot be closed yet: Record the cause. Record how control was regained.")
    assert not Closure.objects.exists()


def test_what_is_kept_on_hold_until_tested_cannot_be_closed(maker: Device, deviation_id: str, make: Make) -> None:
    seen = _lead_through(maker, deviation_id, make, "keep_on_hold")
    body = {"password": PASSWORD, "seen_sha256": seen}

    assert "until tested" in refusal(maker.post(f"deviations/{deviation_id}/closure/", body), 400, "refused")["message"]


def test_what_was_not_seen_is_not_signed(maker: Device, helper: Device, deviation_id: str, make: Make) -> None:
    seen = _lead_through(maker, deviation_id, make)
    helper.post(f"deviations/{deviation_id}/steps/", _step("cause", text="The fan had stopped."))

    body = {"password": PASSWORD, "seen_sha256": seen}
    assert (
        "Read it again" in refusal(maker.post(f"deviations/{deviation_id}/closure/", body), 409, "conflict")["message"]
    )


def test_closing_needs_the_right_to(helper: Device, maker: Device, deviation_id: str, make: Make) -> None:
    body = {"password": PASSWORD, "seen_sha256": _lead_through(maker, deviation_id, make)}

    refusal(helper.post(f"deviations/{deviation_id}/closure/", body), 403, "not_allowed")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"text": "  "}, "text"),
        ({"kind": "disposition", "lot": None, "disposition": "release"}, "lot"),
        ({"kind": "disposition", "lot": str(uuid4()), "disposition": "release"}, "lot"),
        ({"kind": "disposition", "disposition": ""}, "disposition"),
    ],
)
def test_a_step_that_says_too_little_is_refused(
    maker: Device, deviation_id: str, change: dict[str, Any], field: str
) -> None:
    error = refusal(maker.post(f"deviations/{deviation_id}/steps/", _step("cause") | change), 400, "refused")

    assert field in error["fields"]
    assert not CorrectiveStep.objects.exists()


def test_the_same_step_is_taken_once_and_with_one_content(maker: Device, deviation_id: str, make: Make) -> None:
    body = _step("disposition", lot=str(make.lot_id), disposition="keep_on_hold")
    address = f"deviations/{deviation_id}/steps/"
    assert maker.post(address, body).json() == maker.post(address, body).json()

    for change in ({"disposition": "release"}, {"text": "Other."}, {"kind": "cause"}):
        refusal(maker.post(address, body | change), 409, "conflict")
    assert CorrectiveStep.objects.get().disposition == "keep_on_hold"


def _report(dairy: Dairy, **more: Any) -> dict[str, Any]:
    return {
        "id": str(uuid4()),
        "control_point": str(dairy.check("Vat 1 cleaned").control_point_id),
        "summary": "A gasket had come loose.",
        "occurred_at": iso(NOW - timedelta(minutes=15)),
    } | more


def test_a_deviation_is_reported_by_hand(dairy: Dairy, helper: Device, make: Make) -> None:
    answer = helper.post("deviations/", _report(dairy, lots=[str(make.lot_id)]))

    assert answer.status_code == 201
    told = answer.json()
    assert (told["deviation"]["cause"], told["deviation"]["control_point"]) == ("by_hand", "PRP 2 Cleaning of the vat")
    assert [(one["lot"], one["why"]) for one in told["implicated"]] == [(str(make.lot_id), "named by Hanna Helper")]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"summary": " "}, "summary"),
        ({"control_point": str(uuid4())}, "control_point"),
        ({"lots": [str(uuid4())]}, "lots"),
        ({"occurred_at": iso(NOW + timedelta(minutes=10))}, "occurred_at"),
    ],
)
def test_a_report_that_cannot_be_is_refused(dairy: Dairy, maker: Device, change: dict[str, Any], field: str) -> None:
    assert field in refusal(maker.post("deviations/", _report(dairy) | change), 400, "refused")["fields"]
    assert not Deviation.objects.exists()


def test_the_same_report_is_one_deviation(dairy: Dairy, maker: Device, make: Make) -> None:
    body = _report(dairy)
    assert maker.post("deviations/", body).json() == maker.post("deviations/", body).json()

    changes: list[dict[str, Any]] = [
        {"summary": "Other."},
        {"occurred_at": iso(NOW)},
        {"control_point": str(dairy.check("Heat treatment").control_point_id)},
        {"lots": [str(make.lot_id)]},
    ]
    for change in changes:
        refusal(maker.post("deviations/", body | change), 409, "conflict")
    assert Deviation.objects.count() == 1


def test_another_dairys_deviation_is_not_there(dairy: Dairy, stranger: Device, deviation_id: str) -> None:
    refusal(stranger.get(f"deviations/{deviation_id}/"), 404, "not_found")
    refusal(stranger.post(f"deviations/{deviation_id}/steps/", _step("cause")), 404, "not_found")
    refusal(
        stranger.post(f"deviations/{deviation_id}/closure/", {"password": PASSWORD, "seen_sha256": "0" * 64}),
        404,
        "not_found",
    )
    # Neither does a stranger's report reach this dairy's plan or lots.
    assert "control_point" in refusal(stranger.post("deviations/", _report(dairy)), 400, "refused")["fields"]
