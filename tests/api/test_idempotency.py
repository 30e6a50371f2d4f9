"""Idempotency-Key: sent again, the same request is answered as it was and nothing is done twice."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection

from haccp.checks import actions as checks
from haccp.checks.models import MissedCheck, Record
from haccp.ledger.models import Entry
from haccp.premises import api_once
from haccp.premises.models import AnsweredRequest
from haccp.premises.tasks import KEEP_ANSWERS, forget_requests
from tests.api.conftest import NOW, OPENED
from tests.api.device import Device, refusal, room_body
from tests.dairy import Dairy, open_dairy


def test_a_repeated_request_gets_its_first_answer(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11", at=NOW)
    first = maker.post("records/", body, key="one")
    sealed = Entry.objects.count()
    again = maker.post("records/", body, key="one")

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert "Idempotent-Replay" not in first.headers
    assert again.headers["Idempotent-Replay"] == "true"
    assert Record.objects.count() == 1
    assert Entry.objects.count() == sealed


def test_the_first_answer_stays_though_the_thing_has_changed(morning: Dairy, maker: Device) -> None:
    make = morning.start_make(at=NOW - timedelta(minutes=30))
    body = {"id": str(uuid4()), "kind": "starter_added", "occurred_at": "2026-03-10T08:20:00Z"}
    first = maker.post(f"makes/{make.lot_id}/events/", body, key="event")
    morning.event(make, "cut", at=NOW)

    assert maker.post(f"makes/{make.lot_id}/events/", body, key="event").json() == first.json()


@pytest.mark.parametrize("change", ["content", "operation"])
def test_a_key_is_for_one_request(dairy: Dairy, maker: Device, change: str) -> None:
    body = room_body(dairy, "11", at=NOW)
    maker.post("records/", body, key="one")
    other = body | {"id": str(uuid4())} if change == "content" else body

    error = refusal(maker.post("records/" if change == "content" else "makes/", other, key="one"), 409, "conflict")
    assert "make a new one" in error["message"]
    assert Record.objects.count() == 1


def test_the_order_of_what_is_sent_is_no_other_content(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "11", at=NOW)
    maker.post("records/", body, key="one")

    again = maker.post("records/", dict(reversed(body.items())), key="one")
    assert again.headers["Idempotent-Replay"] == "true"


def test_a_key_belongs_to_the_person_who_used_it(dairy: Dairy, maker: Device, helper: Device) -> None:
    maker.post("records/", room_body(dairy, "11", at=NOW), key="one")
    answer = helper.post("records/", room_body(dairy, "12", at=NOW), key="one")

    assert answer.status_code == 201
    assert "Idempotent-Replay" not in answer.headers


def test_a_refusal_is_not_kept(dairy: Dairy, maker: Device) -> None:
    body = room_body(dairy, "eleven", at=NOW)
    refusal(maker.post("records/", body, key="one"), 400, "refused")
    refusal(maker.post("records/", body | {"id": "no id"}, key="one"), 400, "bad_input")
    assert not AnsweredRequest.objects.exists()

    body["entries"][0]["text"] = "11"
    mended = maker.post("records/", body, key="one")
    assert mended.status_code == 201
    assert "Idempotent-Replay" not in mended.headers


def test_work_that_failed_half_way_keeps_neither_work_nor_answer(
    dairy: Dairy, maker: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    maker.client.raise_request_exception = False
    body = room_body(dairy, "11", at=NOW)

    def fail(*_: Any) -> None:
        raise OSError("disk full")

    with monkeypatch.context() as broken:
        broken.setattr(api_once, "_keep", fail)
        refusal(maker.post("records/", body, key="one"), 500, "server_error")
    assert not Record.objects.exists()

    assert maker.post("records/", body, key="one").status_code == 201


def test_a_key_that_is_too_long_is_refused(dairy: Dairy, maker: Device) -> None:
    error = refusal(maker.post("records/", room_body(dairy, "11", at=NOW), key="k" * 121), 400, "refused")

    assert "at most 120 characters" in error["message"]
    assert maker.post("records/", room_body(dairy, "11", at=NOW), key="k" * 120).status_code == 201


def test_files_are_part_of_the_content(dairy: Dairy, maker: Device) -> None:
    trace_id = uuid4()
    content = b"Time,Milk (\xc2\xb0C)\n" + b"".join(
        f"2026-03-10 08:{n // 60:02}:{n % 60:02},63.5\n".encode() for n in range(600)
    )
    first = maker.upload(content, name="a.csv", trace_id=trace_id, key="file")
    assert first.status_code == 201, first.content

    again = maker.upload(content, name="a.csv", trace_id=trace_id, key="file")
    assert again.headers["Idempotent-Replay"] == "true"
    refusal(maker.upload(content + b"\n", name="a.csv", trace_id=trace_id, key="file"), 409, "conflict")


def test_answers_are_forgotten_when_no_device_would_still_ask(
    dairy: Dairy, maker: Device, clock: time_machine.Traveller
) -> None:
    maker.post("records/", room_body(dairy, "11", at=NOW), key="one")

    clock.move_to(NOW + KEEP_ANSWERS)
    assert forget_requests() == 0
    clock.move_to(NOW + KEEP_ANSWERS + timedelta(seconds=1))
    assert forget_requests() == 1


def _looks_too_early(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second of two twins looks for an earlier answer a moment before the first has given it."""
    look = api_once._earlier
    looks: list[str] = []

    def early(*arguments: Any) -> Any:
        looks.append("")
        return None if len(looks) == 1 else look(*arguments)

    monkeypatch.setattr(api_once, "_earlier", early)


def test_a_twin_that_was_a_moment_later_gets_the_same_answer(
    dairy: Dairy, maker: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    body = room_body(dairy, "11", at=NOW)
    first = maker.post("records/", body, key="one")
    _looks_too_early(monkeypatch)
    twin = maker.post("records/", body, key="one")

    assert (twin.status_code, twin.json()) == (201, first.json())
    assert twin.headers["Idempotent-Replay"] == "true"
    assert Record.objects.count() == 1


def test_a_twin_whose_action_is_done_once_gets_the_same_answer(
    morning: Dairy, maker: Device, clock: time_machine.Traveller, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock.move_to(NOW + timedelta(hours=3))
    checks.sweep(now=NOW + timedelta(hours=3))
    address = f"missed/{MissedCheck.objects.get().id}/reason/"
    first = maker.post(address, {"text": "Washed."}, key="one")
    _looks_too_early(monkeypatch)
    twin = maker.post(address, {"text": "Washed."}, key="one")

    # Without the key the second would be told that a reason was given already.
    assert (twin.status_code, twin.json()) == (201, first.json())


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("keyed", [True, False])
def test_twins_at_the_very_same_time_are_one_record(keyed: bool) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one transaction write at a time; set DATABASE_URL to a PostgreSQL database")
    twins = 8
    with time_machine.travel(NOW, tick=True):
        dairy = open_dairy(at=OPENED)
        maker = Device(dairy.maker)
        make = dairy.start_make(at=NOW - timedelta(minutes=30))
        sent = {
            "records/": room_body(dairy, "17", at=NOW),
            "milk/": {
                "id": str(uuid4()),
                "species": "cow",
                "source": "own herd",
                "volume": "100",
                "received_at": "2026-03-10T08:00:00Z",
            },
            f"makes/{make.lot_id}/events/": {
                "id": str(uuid4()),
                "kind": "cut",
                "occurred_at": "2026-03-10T08:20:00Z",
            },
            "deviations/": {
                "id": str(uuid4()),
                "control_point": str(dairy.check("Vat 1 cleaned").control_point_id),
                "summary": "Leak.",
                "occurred_at": "2026-03-10T08:20:00Z",
            },
        }
        for path, body in sent.items():
            together = threading.Barrier(twins)

            def send(path: str, body: dict[str, Any], together: threading.Barrier = together) -> tuple[int, Any]:
                try:
                    device = Device.__new__(Device)
                    device.client = maker.client.__class__()
                    device.client.credentials(HTTP_AUTHORIZATION=f"Token {maker.token}")
                    together.wait(timeout=30)
                    answer = device.post(path, body, key=path if keyed else "")
                    return answer.status_code, answer.json()
                finally:
                    connection.close()

            with ThreadPoolExecutor(twins) as pool:
                answers = [done.result() for done in [pool.submit(send, path, body) for _ in range(twins)]]
            assert {status for status, _ in answers} <= {200, 201}, answers
            assert all(answer == answers[0][1] for _, answer in answers)
    assert Record.objects.count() == 1
