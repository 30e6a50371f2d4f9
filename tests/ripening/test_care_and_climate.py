"""Care, weights, days of neglect, the air of a room by hand and by logger."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.ripening import actions
from batches.ripening.ageing_clock import clock_of
from batches.ripening.models import Care, CareLot, RoomLog, RoomReading, Weighing
from batches.ripening.overview import load_overview, pack_overview
from batches.ripening.queries import rooms
from batches.ripening.weights import weights_of
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def test_one_tap_looks_after_a_whole_room(dairy: Dairy) -> None:
    inside, gone = (dairy.start_make(at=NOW - n * DAY) for n in (9, 8))
    for make in (inside, gone):
        dairy.event(make, "placed_in_room", at=NOW - 7 * DAY, place=dairy.room)
    dairy.event(gone, "left_room", at=NOW - DAY)
    client, address = signed_in(dairy.helper), reverse("ripening:care_for_room", args=[dairy.room.pk])
    form = {"care_id": str(uuid4()), "kind": "turned", "done_at": "2026-03-20T11:30"}
    for _ in range(2):
        assert client.post(address, form).status_code == 302
    assert [one.lot for one in CareLot.objects.all()] == [inside.lot]
    assert client.get(address).status_code == 405
    wrong = client.post(address, form | {"care_id": str(uuid4()), "done_at": "2026-03-21T11:30", "note": "upper shelf"})
    assert wrong.status_code == 422
    assert 'value="upper shelf"' in wrong.content.decode()
    one = reverse("ripening:care_for_batch", args=[gone.pk])
    assert client.post(one, form | {"care_id": str(uuid4()), "kind": "washed"}).status_code == 302
    assert "washed" in client.get(reverse("making:batch", args=[gone.pk])).content.decode()
    assert reader(dairy).post(address, form).status_code == 403
    assert verify_log(dairy.owner.premises.log).holds

    dairy.event(inside, "left_room", at=NOW)
    with pytest.raises(ActionError, match="empty then"):
        actions.care_give(scope=dairy.maker, care_id=uuid4(), kind="turned", done_at=NOW, room_id=dairy.room.pk)


def test_neglect_is_seen_at_a_glance_at_a_constant_cost(dairy: Dairy) -> None:
    client = signed_in(dairy.owner)
    form = {"product": str(dairy.product.pk), "kind": "turned", "every_days": "2"}
    assert client.post(reverse("ripening:rhythms"), form).status_code == 302
    assert signed_in(dairy.maker).get(reverse("ripening:rhythms")).status_code == 403
    make = dairy.start_make(at=NOW - 9 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 8 * DAY, place=dairy.room)
    # Turned on the 14th: due on the 16th, overdue from the 17th on; before that due on the 14th itself
    actions.care_give(scope=dairy.maker, care_id=uuid4(), kind="turned", done_at=NOW - 6 * DAY, room_id=dairy.room.pk)
    (room,) = rooms(dairy.owner.premises, NOW, [dairy.room])
    (overdue,) = room.care.overdue
    assert (overdue.days, overdue.neglected) == (4, 4)
    assert [day.day.day for day in room.care.days if day.neglected] == [17, 18, 19, 20]
    assert [day.day.day for day in room.care.days if day.is_seen] == [14]
    with CaptureQueriesContext(connection) as one:
        page = client.get(reverse("ripening:rooms")).content.decode()
    assert f"{make.lot.code}</strong> not turned for 6 days" in page
    assert "13 days</strong> without a record" in page
    for n in range(1, 4):
        other = dairy.start_make(at=NOW - n * DAY)
        dairy.event(other, "placed_in_room", at=NOW - n * DAY + HOUR, place=dairy.room)
    with CaptureQueriesContext(connection) as many:
        client.get(reverse("ripening:rooms"))
    assert len(one) == len(many)


def test_weight_is_lost_per_wheel(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - 9 * DAY), signed_in(dairy.helper)
    address = reverse("ripening:weigh", args=[make.pk])
    form = {"weighing_id": str(uuid4()), "pieces": "2", "mass": "8,0", "unit": "kg", "weighed_at": "2026-03-12T08:00"}
    for _ in range(2):
        assert client.post(address, form).status_code == 302
    refused = client.post(address, form | {"weighing_id": str(uuid4()), "mass": "heavy"})
    assert refused.status_code == 422
    assert 'value="heavy"' in refused.content.decode()
    later = {"weighing_id": str(uuid4()), "pieces": "1", "mass": "8.0", "unit": "lb", "weighed_at": "2026-03-19T08:00"}
    assert client.post(address, form | later).status_code == 302
    first, second = weights_of(make.pk)
    assert (first.per_piece_kg, first.loss_percent) == (4.0, None)
    # 8 lb is 3.62874 kg: NIST SP 811 (2008), appendix B.8
    assert second.loss_percent == pytest.approx((4 - 8 * 0.45359237) / 4 * 100)
    assert "9.3 %" in client.get(reverse("making:batch", args=[make.pk])).content.decode()
    assert Weighing.objects.count() == 2


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"temperature": "110"}, "temperature"),
        ({"temperature": "55", "temperature_unit": "°C", "wet_bulb": "60"}, "wet_bulb"),
        ({"wet_bulb": "11"}, "temperature"),
        ({"temperature": "12", "wet_bulb": "11", "humidity": "90"}, "humidity"),
        ({"humidity": "140"}, "humidity"),
        ({}, "temperature"),
        ({"temperature": "12", "read_at": NOW + HOUR}, "read_at"),
        ({"temperature": "12", "wet_bulb": "11", "pressure": "5"}, "wet_bulb"),
        ({"temperature": "warm"}, "temperature"),
    ],
)
def test_air_that_cannot_be_is_refused_with_its_field(dairy: Dairy, typed: dict[str, object], field: str) -> None:
    arguments: dict[str, object] = {
        "scope": dairy.maker,
        "reading_id": uuid4(),
        "room_id": dairy.room.pk,
        "read_at": NOW,
    }
    if typed.get("pressure"):
        typed = typed | {"pressure": "21000"}  # more than the plausible 20 000 hPa
        field = "pressure"
    with pytest.raises(ActionError) as refused:
        actions.room_read(**(arguments | typed))  # type: ignore[arg-type]
    assert field in refused.value.fields
    assert not RoomReading.objects.exists()


def test_two_bulbs_give_the_humidity(dairy: Dairy) -> None:
    """Dry 68 °F, wet 62 °F: 71 % at sea level, US Army TM 5-3610-285-14 (read)."""
    client = signed_in(dairy.helper)
    address = reverse("ripening:read", args=[dairy.room.pk])
    form = {
        "reading_id": str(uuid4()), "temperature": "68", "temperature_unit": "°F", "wet_bulb": "62",
        "psychrometer": "ASPIRATED", "read_at": "2026-03-20T11:00",
    }  # fmt: skip
    for _ in range(2):
        assert client.post(address, form).status_code == 302
    reading = RoomReading.objects.get()
    assert reading.temperature_c == pytest.approx(20.0)
    assert reading.relative_humidity == pytest.approx(71, abs=1)
    assert reading.typed["wet_bulb"] == "62"
    refused = client.post(address, form | {"reading_id": str(uuid4()), "wet_bulb": "80"})
    assert refused.status_code == 422
    assert 'value="80"' in refused.content.decode()


def _file(days: int = 3) -> bytes:
    rows = ["Time,Cellar (°C),Humidity (%RH)"]
    for i in range(days * 144):
        at = NOW - days * DAY + i * timedelta(minutes=10)
        rows.append(f"{at:%Y-%m-%d %H:%M:%S},{11 + i % 7 / 10:.1f},{88 + i % 5}")
    rows[100] = rows[100].rsplit(",", 2)[0] + ",17.3,88"
    return "\n".join(rows).encode()


def test_a_logger_s_file_is_taken_in_drawn_and_counted_by_the_clock(dairy: Dairy) -> None:
    Premises.objects.update(jurisdiction="US")
    type(dairy.product).objects.update(treatment="raw")
    make = dairy.start_make(at=NOW - 3 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 2 * DAY, place=dairy.room)
    client = signed_in(dairy.helper)
    upload = reverse("ripening:logger", args=[dairy.room.pk])
    bad = client.post(upload, {"trace_id": str(uuid4()), "file": SimpleUploadedFile("bad.csv", b"no table")})
    assert bad.status_code == 422
    sent = {"trace_id": str(uuid4()), "file": SimpleUploadedFile("cellar.csv", _file())}
    answer = client.post(upload, sent, follow=True)
    page = answer.content.decode()
    assert "432 samples" in page or "431 samples" in page
    confirm = answer.redirect_chain[-1][0]
    assert 'value="relative_humidity" selected' in page
    form = {
        "quantity-0": "temperature", "label-0": "Top shelf", "quantity-1": "temperature", "label-1": "Damp",
        "instrument": str(dairy.recorder.pk),
    }  # fmt: skip
    refused = client.post(confirm, form)
    assert refused.status_code == 422
    assert "choose what it measures" in refused.content.decode()
    for _ in range(2):
        assert client.post(confirm, form | {"quantity-1": "relative_humidity"}).status_code == 302
    assert RoomLog.objects.count() == 2
    page = client.get(reverse("ripening:room", args=[dairy.room.pk])).content.decode()
    assert "17.3 °C" in page  # one sample among hundreds, and still named
    assert "Top shelf" in client.get(reverse("ripening:year", args=[dairy.room.pk])).content.decode()
    clock = clock_of(Premises.objects.get(), make.lot_id, NOW).governing
    assert clock is not None
    assert clock.proven_s == pytest.approx(2 * 86400 - 600, abs=601)
    assert verify_log(dairy.owner.premises.log).holds
    answer = client.get(f"/api/v1/makes/{make.pk}/ageing/").json()
    assert answer["rules"][0]["days"] == 60.0


def test_an_overview_keeps_every_extreme_of_every_hour() -> None:
    rng = np.random.default_rng(20260320)
    t = np.arange(0, 40 * 24 * 3600, 60, dtype=float)
    values = 11 + rng.normal(0, 0.3, t.size)
    values[12_345] = 29.5
    kept_t, kept = load_overview(pack_overview(t, values))
    assert kept.max() == pytest.approx(29.5)
    assert kept_t[np.argmax(kept)] == t[12_345]
    hours = (t / 3600).astype(int)
    kept_hours = (kept_t / 3600).astype(int)
    for hour in (0, 17, 205, 959):
        assert kept[kept_hours == hour].min() == pytest.approx(values[hours == hour].min(), abs=1e-5)
    assert kept.size < t.size / 10


def test_the_api_takes_care_weights_and_air(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - 9 * DAY), signed_in(dairy.helper)
    care = {"id": str(uuid4()), "kind": "brushed", "done_at": "2026-03-20T11:00:00Z", "lots": [str(make.pk)]}
    weight = {"id": str(uuid4()), "lot": str(make.pk), "mass": "4.1", "weighed_at": "2026-03-20T11:00:00Z"}
    air = {"id": str(uuid4()), "read_at": "2026-03-20T11:00:00Z", "temperature": "12", "humidity": "88"}
    for path, body in (("care/", care), ("weighings/", weight), (f"rooms/{dairy.room.pk}/readings/", air)):
        answer = client.post(f"/api/v1/{path}", body, content_type="application/json")
        assert answer.status_code == 201, answer.content
    assert (Care.objects.count(), Weighing.objects.count(), RoomReading.objects.count()) == (1, 1, 1)
