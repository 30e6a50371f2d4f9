"""Who may speak to the API, and how it says no."""

from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from django.test import Client
from rest_framework.test import APIClient

from haccp.checks.models import Record
from haccp.premises import actions as premises
from haccp.premises.models import Membership
from tests.api.conftest import NOW
from tests.api.device import ROOT, Device, record_body, refusal, room_body
from tests.dairy import PASSWORD, Dairy


def test_nobody_is_told_to_send_a_token(dairy: Dairy) -> None:
    answer = APIClient().get(ROOT + "today/")

    refusal(answer, 401, "not_authenticated")
    assert answer.headers["WWW-Authenticate"] == "Token"


@pytest.mark.parametrize("header", ["Token", "Token ", "Token nonsense", "Bearer nonsense", "Basic bjpw", "Tökén x"])
def test_a_token_that_is_none_is_refused(dairy: Dairy, header: str) -> None:
    answer = APIClient().get(ROOT + "today/", headers={"Authorization": header})

    assert answer.status_code == 401
    assert answer.json()["error"]["message"]


def _revoke(device: Device) -> None:
    premises.device_revoke(scope=device.scope, device_id=device.row.id)


def _leave(device: Device) -> None:
    Membership.objects.filter(pk=device.scope.membership.pk).update(left_at=NOW)


def _suspend(device: Device) -> None:
    device.scope.user.is_active = False
    device.scope.user.save()


@pytest.mark.parametrize("end", [_revoke, _leave, _suspend])
def test_a_record_of_somebody_who_no_longer_belongs_is_refused(
    dairy: Dairy, maker: Device, end: Callable[[Device], None]
) -> None:
    body = room_body(dairy, "11,0", at=NOW)
    assert maker.post("records/", body).status_code == 201
    end(maker)

    refusal(maker.post("records/", room_body(dairy, "11,2", at=NOW)), 401, "authentication_failed")
    # Nor is what was saved before told once more, neither by its id nor by a key.
    refusal(maker.post("records/", body), 401, "authentication_failed")
    assert Record.objects.count() == 1


def test_a_role_that_only_reads_cannot_record(dairy: Dairy, consultant: Device) -> None:
    error = refusal(consultant.post("records/", room_body(dairy, "11,0", at=NOW)), 403, "not_allowed")

    assert "ask the owner" in error["message"]
    assert consultant.get("records/").json()["results"] == []


def test_the_dairy_says_who_speaks_and_what_they_may_do(dairy: Dairy, helper: Device) -> None:
    answer = helper.get("dairy/").json()

    assert answer["premises"] == "Weir Farm Dairy"
    assert answer["time_zone"] == "Europe/Dublin"
    assert (answer["person"], answer["role"]) == ("Hanna Helper", "helper")
    assert answer["rights"] == ["read", "belong", "record", "sign_day"]
    assert [place["name"] for place in answer["places"]] == ["Vat 1", "Room 1"]
    assert {one["name"] for one in answer["instruments"]} == {"Thermometer", "pH meter", "Recorder"}


def test_the_use_of_a_token_is_noted_every_few_minutes_only(
    dairy: Dairy, maker: Device, clock: time_machine.Traveller
) -> None:
    maker.get("today/")
    maker.row.refresh_from_db()
    assert maker.row.last_used_at == NOW

    clock.shift(60)
    maker.get("today/")
    maker.row.refresh_from_db()
    assert maker.row.last_used_at == NOW

    clock.shift(300)
    maker.get("today/")
    maker.row.refresh_from_db()
    assert maker.row.last_used_at != NOW


def _signed_in(dairy: Dairy, *, enforce: bool = True) -> Client:
    browser = Client(enforce_csrf_checks=enforce)
    browser.force_login(dairy.maker.user)
    return browser


def test_a_page_that_is_signed_in_may_read_without_a_token(dairy: Dairy) -> None:
    assert _signed_in(dairy).get(ROOT + "dairy/").json()["person"] == "Milo Maker"


def test_a_page_that_is_signed_in_needs_its_csrf_token_to_write(dairy: Dairy) -> None:
    browser = _signed_in(dairy)
    body = record_body(dairy, "Room 1 temperature", "11", at=NOW, instrument=str(dairy.thermometer.id))

    error = refusal(browser.post(ROOT + "records/", body, content_type="application/json"), 403, "not_allowed")
    assert "CSRF" in error["message"]
    assert not Record.objects.exists()

    token = "a" * 32
    browser.cookies["csrftoken"] = token
    sent = browser.post(
        ROOT + "records/",
        body,
        content_type="application/json",
        headers={"X-CSRFToken": token, "Origin": "http://testserver"},
    )
    assert sent.status_code == 201


def test_a_signed_in_person_without_a_dairy_is_nobody_to_the_api(dairy: Dairy) -> None:
    browser = _signed_in(dairy)
    Membership.objects.filter(pk=dairy.maker.membership.pk).update(left_at=NOW)

    refusal(browser.get(ROOT + "today/"), 401, "not_authenticated")


def test_a_token_wins_over_the_session_beside_it(dairy: Dairy, stranger: Device) -> None:
    browser = _signed_in(dairy)

    answer = browser.get(ROOT + "dairy/", headers={"Authorization": f"Token {stranger.token}"})
    assert answer.json()["premises"] == "Mill Lane Dairy"


@pytest.mark.parametrize("method", ["get", "post", "put", "delete"])
@pytest.mark.parametrize(
    "path", ["/api/", "/api/v1/", "/api/v1/nothing/", "/api/v2/today/", "/api/v1/days/2026-02-30/"]
)
def test_an_unknown_address_is_answered_in_json(maker: Device, method: str, path: str) -> None:
    error = refusal(getattr(maker.client, method)(path), 404, "not_found")

    assert path in error["message"]


def test_a_method_that_an_operation_does_not_have(maker: Device) -> None:
    refusal(maker.client.delete(ROOT + "records/"), 405, "method_not_allowed")


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "1969-12-31", "2200-01-01"])
def test_a_day_beyond_every_calendar_of_a_dairy_is_not_there(maker: Device, day: str) -> None:
    refusal(maker.get(f"days/{day}/"), 404, "not_found")


@pytest.mark.parametrize("broken", [b"{", b"[1, 2", b"\xff\xfe", b'{"id": NaN}', b""])
@pytest.mark.parametrize("key", ["", "k"])
def test_a_body_that_is_no_json_is_refused(maker: Device, broken: bytes, key: str) -> None:
    answer = maker.client.post(
        ROOT + "records/", broken, content_type="application/json", headers={"Idempotency-Key": key} if key else {}
    )

    assert answer.status_code == 400
    assert answer.json()["error"]["code"] in {"parse_error", "bad_input"}


@pytest.mark.parametrize("body", [[], [1], "text", 7, None])
@pytest.mark.parametrize("key", ["", "k"])
def test_a_body_that_is_no_object_is_refused(maker: Device, body: Any, key: str) -> None:
    refusal(maker.post("records/", body, key=key), 400, "bad_input")


def test_a_body_of_another_type_is_refused(maker: Device) -> None:
    answer = maker.client.post(ROOT + "records/", "id=1", content_type="application/x-www-form-urlencoded")

    refusal(answer, 415, "unsupported_media_type")


def test_a_body_past_the_limit_is_refused_before_it_is_read(maker: Device, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000

    refusal(maker.post("records/", {"note": "x" * 1001}), 413, "too_large")


def test_every_field_that_cannot_be_used_is_named_at_once(maker: Device) -> None:
    error = refusal(maker.post("records/", {"entries": [{"text": 1}]}), 400, "bad_input")

    assert {"id", "check_id", "observed_at"} <= set(error["fields"])


def test_the_document_is_read_by_those_who_belong(dairy: Dairy, consultant: Device) -> None:
    refusal(APIClient().get(ROOT + "openapi.json"), 401, "not_authenticated")

    answer = consultant.get("openapi.json")
    assert answer.status_code == 200
    assert answer.json()["info"]["title"] == "Curdward API"
    assert _signed_in(dairy).get(ROOT + "openapi.json").status_code == 200


def test_a_failure_that_nobody_foresaw_is_answered_in_json(
    dairy: Dairy, maker: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("nobody foresaw this")

    monkeypatch.setattr("haccp.checks.queries.today", fail)
    maker.client.raise_request_exception = False
    error = refusal(maker.get("today/"), 500, "server_error")

    assert "Send the same request again" in error["message"]
    assert "foresaw" not in error["message"]


def test_a_password_is_never_taken_for_another_persons(dairy: Dairy, maker: Device) -> None:
    answer = maker.post(
        "days/2026-03-10/signatures/", {"meaning": "signed_off", "password": PASSWORD + "x", "seen_sha256": "0" * 64}
    )

    assert refusal(answer, 400, "refused")["fields"]["password"] == ["That is not your password; nothing was signed."]
