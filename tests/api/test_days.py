"""A day is signed off by who worked it and reviewed by a second person, each with their password."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine

from haccp.checks import actions as checks
from haccp.checks.models import DaySignature, MissedCheck
from haccp.premises.models import AnsweredRequest
from tests.api.conftest import NOW
from tests.api.device import Device, record_body, refusal, room_body
from tests.dairy import PASSWORD, Dairy

DAY = "days/2026-03-10/"
EVENING = NOW.replace(hour=19)


@pytest.fixture
def worked(morning: Dairy, maker: Device, clock: time_machine.Traveller) -> Dairy:
    """Every check of the day was done and written down in its time."""
    due = {one["name"]: one["id"] for one in maker.get("due-checks/").json()["results"] if "03-10" in one["due_at"]}
    cleaned_at = NOW.replace(hour=17)
    bodies = {
        NOW: room_body(morning, "11", at=NOW, due=due["Room 1 temperature"]),
        cleaned_at: record_body(morning, "Vat 1 cleaned", "120", "yes", at=cleaned_at, due=due["Vat 1 cleaned"]),
    }
    for at, body in bodies.items():
        clock.move_to(at)
        assert maker.post("records/", body).status_code == 201
    clock.move_to(EVENING)
    return morning


def _sign(device: Device, meaning: str, *, seen: str = "", password: str = PASSWORD, key: str = "") -> Any:
    seen = seen or device.get(DAY).json()["content_sha256"]
    body = {"meaning": meaning, "password": password, "seen_sha256": seen}
    return device.post(DAY + "signatures/", body, key=key)


def test_a_day_shows_what_its_signature_would_attest(worked: Dairy, maker: Device) -> None:
    day = maker.get(DAY).json()

    assert day["day"] == "2026-03-10"
    assert [line["check"] for line in day["content"]["records"]] == ["Room 1 temperature", "Vat 1 cleaned"]
    assert day["content"]["records"][1]["readings"] == ["120 mg/L", "yes"]
    assert day["unanswered"] == []
    assert len(day["content_sha256"]) == 64
    assert day["fingerprint"]


def test_a_second_person_reviews_what_the_first_signed_off(
    worked: Dairy, helper: Device, maker: Device, clock: time_machine.Traveller
) -> None:
    signed = _sign(helper, "signed_off")
    assert signed.status_code == 201
    clock.shift(60)
    reviewed = _sign(maker, "reviewed")
    assert reviewed.status_code == 201

    assert [(one["meaning"], one["signed_by"]) for one in reviewed.json()["signatures"]] == [
        ("signed_off", "Hanna Helper"),
        ("reviewed", "Milo Maker"),
    ]
    assert len({one["content_sha256"] for one in reviewed.json()["signatures"]}) == 1


def test_nobody_reviews_their_own_day(worked: Dairy, maker: Device) -> None:
    _sign(maker, "signed_off")

    assert "a second person" in refusal(_sign(maker, "reviewed"), 400, "refused")["message"]
    assert DaySignature.objects.count() == 1


def test_a_review_follows_a_sign_off(worked: Dairy, maker: Device) -> None:
    assert "after it was signed off" in refusal(_sign(maker, "reviewed"), 400, "refused")["message"]


def test_a_helper_signs_off_but_does_not_review(worked: Dairy, maker: Device, helper: Device) -> None:
    _sign(maker, "signed_off")

    refusal(_sign(helper, "reviewed"), 403, "not_allowed")


def test_a_consultant_signs_nothing(worked: Dairy, consultant: Device) -> None:
    refusal(_sign(consultant, "signed_off"), 403, "not_allowed")
    refusal(_sign(consultant, "reviewed"), 403, "not_allowed")


def test_a_state_is_signed_once(worked: Dairy, maker: Device, helper: Device) -> None:
    _sign(maker, "signed_off")

    refusal(_sign(helper, "signed_off"), 409, "conflict")


def test_a_day_that_changed_while_it_was_read_is_not_signed(worked: Dairy, maker: Device, helper: Device) -> None:
    seen = maker.get(DAY).json()["content_sha256"]
    helper.post("records/", room_body(worked, "12", at=EVENING))

    assert "Read it again" in refusal(_sign(maker, "signed_off", seen=seen), 409, "conflict")["message"]


def test_a_late_entry_asks_for_another_signature(worked: Dairy, maker: Device, helper: Device) -> None:
    _sign(maker, "signed_off")
    helper.post("records/", room_body(worked, "12", at=EVENING))

    assert _sign(helper, "signed_off").status_code == 201


def test_a_wrong_password_signs_nothing(worked: Dairy, maker: Device) -> None:
    error = refusal(_sign(maker, "signed_off", password="open sesame"), 400, "refused")

    assert "password" in error["fields"]
    assert not DaySignature.objects.exists()


def test_a_signature_is_never_given_from_memory(worked: Dairy, maker: Device) -> None:
    assert _sign(maker, "signed_off", key="sign").status_code == 201

    refusal(_sign(maker, "signed_off", key="sign"), 409, "conflict")
    assert not AnsweredRequest.objects.filter(key="sign").exists()


def test_a_day_with_a_missed_check_waits_for_its_reason(
    morning: Dairy, maker: Device, clock: time_machine.Traveller
) -> None:
    clock.move_to(EVENING)
    checks.sweep(now=EVENING)
    assert maker.get(DAY).json()["unanswered"] == [
        "Room 1 temperature, due at 08:00, was missed and has no reason.",
        "Vat 1 cleaned, due at 17:00, was missed and has no reason.",
    ]
    error = refusal(_sign(maker, "signed_off"), 400, "refused")
    assert error["message"] == (
        "The day cannot be signed yet: Room 1 temperature, due at 08:00, was missed and has no reason. "
        "1 more unanswered."
    )

    for missed in MissedCheck.objects.all():
        assert maker.post(f"missed/{missed.id}/reason/", {"text": "Power cut."}).status_code == 201
    assert _sign(maker, "signed_off").status_code == 201


def test_a_day_to_come_is_not_signed(dairy: Dairy, maker: Device) -> None:
    seen = maker.get("days/2026-03-12/").json()["content_sha256"]
    body = {"meaning": "signed_off", "password": PASSWORD, "seen_sha256": seen}

    assert "not come yet" in refusal(maker.post("days/2026-03-12/signatures/", body), 400, "refused")["message"]


def test_a_local_day_begins_and_ends_at_local_midnight(
    dairy: Dairy, maker: Device, clock: time_machine.Traveller
) -> None:
    # Dublin goes to summer time on 29 March 2026: the first hour of the 30th is 23:00 UTC of the 29th.
    clock.move_to(NOW + timedelta(days=21))
    late = room_body(dairy, "11", at=NOW.replace(day=29, hour=22, minute=59))
    early = room_body(dairy, "12", at=NOW.replace(day=29, hour=23, minute=0))
    for body in (late, early):
        assert maker.post("records/", body).status_code == 201

    def ids(day: int) -> list[str]:
        return [line["id"] for line in maker.get(f"days/2026-03-{day}/").json()["content"]["records"]]

    assert (ids(29), ids(30)) == ([late["id"]], [early["id"]])


def test_a_day_of_another_dairy_is_empty_to_a_stranger(worked: Dairy, stranger: Device) -> None:
    assert stranger.get(DAY).json()["content"]["records"] == []
    refusal(stranger.post(f"missed/{worked.vat.id}/reason/", {"text": "x"}), 404, "not_found")
