"""Environmental swabs by rota, finds with their deviation and the lots, and a surface that may not be used."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.hygiene import actions as hygiene
from batches.hygiene.cleanliness import cleanliness
from batches.hygiene.environment import last_free_at, points_now
from batches.hygiene.models import SwabSent
from batches.hygiene.queries import swabs_to_send
from batches.laboratory import actions as laboratory
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import OPENED_AT, Dairy, open_dairy
from tests.hygiene.test_cleaning import give_method
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def test_a_find_on_a_surface_names_the_cheese_and_a_second_one_stops_the_use() -> None:
    dairy = open_dairy()
    premises = dairy.owner.premises
    before, now = OPENED_AT + DAY, OPENED_AT + 3 * DAY
    method, _ = give_method(dairy, now=OPENED_AT + 20 * DAY)
    points = {
        name: hygiene.swab_point_add(
            scope=dairy.owner, point_id=uuid4(), place_id=place.id, name=name, zone=zone, now=OPENED_AT
        )
        for name, place, zone in (("Valve", dairy.vat, 1), ("Paddle", dairy.vat, 1), ("Drain", dairy.room, 3))
    }
    with pytest.raises(ActionError, match="Set a rota"):
        _find(dairy, points["Drain"].id, "D-0", now)
    for zone, at_once in ((1, 1), (3, 1)):
        hygiene.rota_set(
            scope=dairy.owner,
            rota_id=uuid4(),
            zone=zone,
            first_on=premises.local_date(OPENED_AT),
            every_days=7,
            at_once=at_once,
            control_point_code="PRP 2",
            now=OPENED_AT,
        )
    due = {one.point.name for one in points_now(premises, now) if one.due_on is not None}
    assert due == {"Paddle"}  # in their order of name; the drain was swabbed above
    later = {one.point.name for one in points_now(premises, OPENED_AT + 8 * DAY) if one.due_on is not None}
    assert later == {"Paddle", "Valve", "Drain"}

    _result(dairy, points["Valve"].id, "V-1", before, "nothing")
    old = dairy.start_make(at=before - 2 * HOUR)
    dairy.event(old, "placed_in_room", at=before - HOUR, place=dairy.room)
    touched = dairy.start_make(at=before + 5 * HOUR)
    first = _find(dairy, points["Valve"].id, "V-2", now)
    assert [one.lot_id for one in first.deviation.implicated.all()] == [touched.lot_id]
    assert old.lot_id not in {one.lot_id for one in first.deviation.implicated.all()}
    assert _find(dairy, points["Drain"].id, "D-1", now).deviation.implicated.count() == 0
    second = _find(dairy, points["Valve"].id, "V-3", now + DAY)
    assert "for the second time" in second.deviation.summary
    after = OPENED_AT + 21 * DAY
    assert "Listeria was found 2 times" in cleanliness(dairy.vat, after).reason
    for number in range(3):
        assert "Listeria" in cleanliness(dairy.vat, after).reason
        _result(dairy, points["Valve"].id, f"V-{4 + number}", now + (2 + number) * DAY, "nothing")
    assert "Listeria" not in cleanliness(dairy.vat, after).reason
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds
    assert method.name


def test_a_swab_sent_to_the_laboratory_has_its_result_in_both_from_one_entry() -> None:
    """Zone 1 (touches the cheese): steps by the number of finds, see haccp.science.environment.escalation."""
    dairy = open_dairy()
    now = OPENED_AT + 3 * DAY
    valve = _point_with_rota(dairy, dairy.vat, "Valve", 1)
    make = dairy.start_make(at=now - 5 * HOUR)
    first, second = (_take(dairy, valve, code, now - HOUR * 4) for code in ("V-1", "V-2"))
    sent = _send(dairy, [first, second], now)
    assert [one.test.sample.code for one in sent] == ["S26-001", "S26-002"]
    assert sent[0].test.sample.spot == "Valve (zone 1), tube V-1"
    assert sent[0].test.sample.verifies.code == "PRP 2"
    assert [one.pk for one in _send(dairy, [first, second], now)] == [one.pk for one in sent]  # sent twice is sent once
    assert not swabs_to_send(dairy.owner.premises)

    result = _answer(dairy, sent[0], "detected", now + DAY)
    mirrored = first.result
    assert mirrored is not None
    assert (mirrored.found, mirrored.laboratory, mirrored.report) == ("species", "County laboratory", "R 7")
    assert result.deviation is not None
    assert result.deviation == mirrored.deviation  # one find is one deviation, of the zone's control point
    assert result.deviation.control_point.code == "PRP 2"
    assert [one.lot_id for one in result.deviation.implicated.all()] == [make.lot_id]
    assert [one.standing.finds for one in points_now(dairy.owner.premises, now + DAY)] == [1]

    _answer(dairy, sent[1], "not detected", now + DAY)
    assert second.result is not None
    assert second.result.found == "nothing"
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_corrected_result_of_a_sample_corrects_the_swab_and_both_versions_stay() -> None:
    dairy = open_dairy()
    now = OPENED_AT + 3 * DAY
    drain = _point_with_rota(dairy, dairy.room, "Drain", 3)
    swab = _take(dairy, drain, "D-1", now - HOUR)
    sent = _send(dairy, [swab], now)[0]
    wrong = _answer(dairy, sent, "detected", now + DAY)
    right = _answer(
        dairy, sent, "Listeria monocytogenes detected", now + 2 * DAY, replaces_id=wrong.id, replace_reason="Confirmed."
    )
    assert [one.found for one in swab.results.all()] == ["species", "monocytogenes"]
    assert swab.result is not None
    assert (swab.result.found, swab.result.replace_reason) == ("monocytogenes", "Confirmed.")
    assert right.deviation is None  # the one of the earlier version stands open
    assert Deviation.objects.count() == 1
    _answer(dairy, sent, "not detected", now + 3 * DAY, replaces_id=right.id, replace_reason="Another tube.")
    assert not points_now(dairy.owner.premises, now + 3 * DAY)[0].standing.is_open
    assert last_free_at(drain, now) == swab.taken_at
    assert Deviation.objects.count() == 1
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_what_cannot_be_sent_is_said_and_nothing_is_written() -> None:
    dairy = open_dairy()
    now = OPENED_AT + 3 * DAY
    bare = hygiene.swab_point_add(
        scope=dairy.owner, point_id=uuid4(), place_id=dairy.room.id, name="Door", zone=4, now=OPENED_AT
    )
    with pytest.raises(ActionError, match="Set a rota"):
        _send(dairy, [_take(dairy, bare, "T-1", now)], now)
    drain = _point_with_rota(dairy, dairy.room, "Drain", 3)
    done, sent, fresh = (_take(dairy, drain, code, now) for code in ("D-1", "D-2", "D-3"))
    hygiene.swab_result_add(
        scope=dairy.maker, swab_id=done.id, found="nothing", laboratory="County laboratory", report="R 1",
        reported_on=dairy.owner.premises.local_date(now), now=now,
    )  # fmt: skip
    _send(dairy, [sent], now)
    with pytest.raises(Conflict, match="has a result already"):
        _send(dairy, [done, fresh], now)
    with pytest.raises(Conflict, match="went to County laboratory already"):
        _send(dairy, [sent, fresh], now, laboratory="Another")
    with pytest.raises(ActionError, match="Choose the swabs"):
        _send(dairy, [], now)
    with pytest.raises(ActionError, match="sample S26-001: enter its result there"):
        hygiene.swab_result_add(
            scope=dairy.maker, swab_id=sent.id, found="nothing", laboratory="x", report="",
            reported_on=dairy.owner.premises.local_date(now), now=now,
        )  # fmt: skip
    assert [one.code for one in swabs_to_send(dairy.owner.premises)] == ["D-3", "T-1"]
    assert SwabSent.objects.count() == 1


def test_the_pages_send_a_swab_and_show_its_result_where_the_sample_was_entered() -> None:
    dairy = open_dairy()
    now = timezone.now().replace(microsecond=0)
    valve = _point_with_rota(dairy, dairy.vat, "Valve", 1)
    swab = _take(dairy, valve, "V-9", now)
    page = signed_in(dairy.maker)
    assert "Send 1 swab to the laboratory" in page.get(reverse("hygiene:swabs")).content.decode()
    typed = {"swabs": [str(swab.id)], "laboratory": "County laboratory", "temperature": "4", "temperature_unit": "°C"}
    refused = page.post(reverse("hygiene:swabs_send"), typed | {"laboratory": ""})
    assert refused.status_code == 422
    assert "Say which laboratory" in refused.content.decode()
    assert page.post(reverse("hygiene:swabs_send"), typed).status_code == 302
    swab.refresh_from_db()
    entry = page.get(reverse("hygiene:swab_result", args=[swab.pk]))
    assert entry.headers["Location"] == reverse("laboratory:result", args=[swab.sent.test_id])
    form = page.get(entry.headers["Location"]).content.decode()
    assert "detected: Listeria monocytogenes" in form
    answer = {
        "result_id": str(uuid4()), "value-0": "detected", "report_number": "R 8",
        "reported_at": timezone.localtime(now, dairy.owner.premises.zone).strftime("%Y-%m-%dT%H:%M:%S"),
    }  # fmt: skip
    saved = page.post(entry.headers["Location"], answer, follow=True).content.decode()
    assert "is open." in saved  # nothing was made with the vat: nothing is held, and nothing is said to be
    assert "on hold." not in saved
    shown = page.get(reverse("hygiene:swab", args=[swab.pk])).content.decode()
    assert swab.sent.test.sample.code in shown
    assert "Listeria spp. detected" in shown
    guide = page.get(reverse("hygiene:swabs")).content.decode()
    assert "FDA, draft guidance" in guide
    assert "Canadian Food Inspection Agency" in guide


def _result(dairy: Dairy, point_id: Any, code: str, at: Any, found: str) -> Any:
    swab = hygiene.swab_take(scope=dairy.maker, swab_id=uuid4(), point_id=point_id, code=code, taken_at=at, now=at)  # type: ignore[arg-type]
    return hygiene.swab_result_add(
        scope=dairy.maker,
        swab_id=swab.id,
        found=found,
        laboratory="County laboratory",
        report="R 1",
        reported_on=dairy.owner.premises.local_date(at) + 2 * DAY,  # type: ignore[arg-type]
        now=at,  # type: ignore[arg-type]
    )


def _find(dairy: Dairy, point_id: Any, code: str, at: Any) -> Any:
    return _result(dairy, point_id, code, at, "species")


def _point_with_rota(dairy: Dairy, place: Any, name: str, zone: int) -> Any:
    hygiene.rota_set(
        scope=dairy.owner,
        rota_id=uuid4(),
        zone=zone,
        first_on=dairy.owner.premises.local_date(OPENED_AT),
        every_days=7,
        at_once=1,
        control_point_code="PRP 2",
        now=OPENED_AT,
    )
    return hygiene.swab_point_add(
        scope=dairy.owner, point_id=uuid4(), place_id=place.id, name=name, zone=zone, now=OPENED_AT
    )


def _take(dairy: Dairy, point: Any, code: str, at: Any) -> Any:
    return hygiene.swab_take(scope=dairy.maker, swab_id=uuid4(), point_id=point.id, code=code, taken_at=at, now=at)


def _send(dairy: Dairy, swabs: list[Any], at: Any, laboratory: str = "County laboratory") -> Any:
    return hygiene.swabs_send(scope=dairy.maker, swab_ids=[one.id for one in swabs], laboratory=laboratory, now=at)


def _answer(dairy: Dairy, sent: Any, value: str, at: Any, **more: Any) -> Any:
    return laboratory.result_enter(
        scope=dairy.maker, result_id=uuid4(), test_id=sent.test_id, values=[value], reported_at=at, now=at,
        report_number="R 7", **more,
    )  # fmt: skip
