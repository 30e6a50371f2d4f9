"""What a person is told, as their device reads and sets it."""

from datetime import timedelta
from urllib.parse import urlsplit
from uuid import uuid4

from django.core import mail

from haccp.checks.models import FreeDay
from haccp.deviations.models import Deviation
from haccp.notices import actions as notices
from tests.api.conftest import NOW
from tests.api.device import Device, refusal, room_body
from tests.dairy import Dairy

WISHES = {
    "alerts_by_email": True, "alerts_by_push": False, "digest_by_email": False, "digest_at": "06:15",
    "quiet_from": "20:30", "quiet_until": "05:00", "wake_for_critical": True,
}  # fmt: skip


def put(device: Device, body: dict[str, object]) -> object:
    return device.client.put("/api/v1/notices/wishes/", body, format="json")


def test_quiet_hours_are_ones_own_and_have_two_ends(dairy: Dairy, maker: Device, helper: Device) -> None:
    assert maker.get("notices/wishes/").json()["quiet_from"] == "21:00"
    assert put(maker, WISHES).status_code == 200  # type: ignore[attr-defined]
    assert maker.get("notices/wishes/").json() == WISHES
    error = refusal(put(maker, WISHES | {"quiet_until": None}), 400, "refused")
    assert "both ends" in error["message"]
    assert maker.get("notices/wishes/").json() == WISHES
    assert helper.get("notices/wishes/").json()["quiet_from"] == "21:00"


def test_an_alert_is_told_taken_and_shown_with_its_delivery(morning: Dairy, maker: Device, stranger: Device) -> None:
    maker.post("records/", room_body(morning, "17", at=NOW))
    deviation = Deviation.objects.get()
    notices.raise_alerts(now=NOW + timedelta(minutes=1))
    notices.deliver(now=NOW + timedelta(minutes=1))
    assert mail.outbox
    (told,) = maker.get("notices/").json()["results"]
    assert deviation.reference in told["subject"]
    assert [(one["channel"], one["attempts"]) for one in told["deliveries"]] == [("email", 1)]
    assert told["deliveries"][0]["sent_at"] is not None

    refusal(stranger.post(f"deviations/{deviation.pk}/alert/", {}), 404, "not_found")
    assert stranger.get("notices/").json()["results"] == []
    taken = maker.post(f"deviations/{deviation.pk}/alert/", {}, key="mine")
    assert (taken.json()["taken_by"], taken.json()["next_level_at"]) == ("Milo Maker", None)


def test_a_delivery_that_fails_is_shown_to_who_manages(morning: Dairy, maker: Device, owner: Device) -> None:
    refusal(maker.get("notices/failing/"), 403, "not_allowed")
    maker.post("records/", room_body(morning, "17", at=NOW))
    notices.raise_alerts(now=NOW)
    from haccp.notices.models import Delivery

    Delivery.objects.filter(notice__membership=morning.maker.membership).update(last_error="mailbox full")
    (failing,) = owner.get("notices/failing/").json()["results"]
    assert (failing["person"], failing["last_error"]) == ("Milo Maker", "mailbox full")


def test_the_address_of_the_calendar_is_told_once_answers_and_ends(morning: Dairy, maker: Device) -> None:
    assert maker.get("notices/feed/").json()["is_there"] is False
    address = maker.post("notices/feed/", {}).json()["address"]
    path = urlsplit(address).path
    assert "BEGIN:VCALENDAR" in maker.client.get(path).content.decode()
    assert maker.get("notices/feed/").json()["address"] is None
    assert maker.post("notices/feed/end/", {}).json()["is_there"] is False
    assert maker.client.get(path).status_code == 404


def test_holidays_are_said_by_who_manages(dairy: Dairy, maker: Device, owner: Device) -> None:
    """5 U.S.C. 6103: 4 July is a public holiday of the United States."""
    body = {"days": [{"id": str(uuid4()), "day": "2026-07-04", "name": "Independence Day"}]}
    refusal(maker.post("free-days/", body), 403, "not_allowed")
    refusal(owner.post("free-days/", {"days": []}), 400, "refused")
    for _ in range(2):
        assert owner.post("free-days/", body).json()[0]["day"] == "2026-07-04"
    assert FreeDay.objects.count() == 1
    assert [one["name"] for one in maker.get("free-days/").json()] == ["Independence Day"]
