"""Makes: the list, a new one, its events, and the page that answers whether it may be sold."""

import zlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.making.course import next_events
from batches.making.models import Make
from haccp.checks import trace_store
from haccp.checks.models import DueCheck, TraceFile
from haccp.deviations.models import Deviation
from haccp.lots.models import LotEvent, LotLink
from haccp.science.trace import Trace
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 7, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def typed_make(dairy: Dairy, **changes: str) -> dict[str, str]:
    return {
        "lot_id": str(uuid4()),
        "product": str(dairy.product.pk),
        "vat": str(dairy.vat.pk),
        "started_at": "2026-03-10T07:00",
        "volume_unit": "L",
        "note": "",
    } | changes


def test_a_make_draws_on_the_milk_that_was_typed(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=NOW - HOUR)
    form = typed_make(dairy, volume_unit="gal (US)", **{f"milk-{milk.pk}": "50"})
    answer = signed_in(dairy.helper).post(reverse("making:new"), form)

    make = Make.objects.get()
    assert answer["Location"] == reverse("making:batch", args=[make.pk])
    # 50 US gallons of 3.785411784 L: NIST SP 811 (2008), appendix B.8.
    assert LotLink.objects.get().amount == pytest.approx(189.2705892)


@pytest.mark.parametrize(
    ("volume", "sentence"), [("250", "Only 200.0"), ("much", "is not a number"), ("", "Say which milk goes into")]
)
def test_milk_that_cannot_be_used_is_refused_with_everything_kept(dairy: Dairy, volume: str, sentence: str) -> None:
    milk = dairy.receive_milk(at=NOW - HOUR)
    form = typed_make(dairy, note="for the market", **{f"milk-{milk.pk}": volume})
    answer = signed_in(dairy.helper).post(reverse("making:new"), form)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert sentence in page
    assert form["lot_id"] in page
    assert "for the market" in page
    assert f'value="{volume}"' in page or not volume
    assert not Make.objects.exists()


def test_one_tap_records_the_event_that_is_next_and_a_double_tap_records_it_once(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - HOUR), signed_in(dairy.helper)
    page = client.get(reverse("making:batch", args=[make.pk])).content.decode()
    assert page.index('value="starter_added"') < page.index('value="rennet_added"')

    form = {"event_id": str(uuid4()), "occurred_at": "2026-03-10T06:45", "kind": "starter_added"}
    for _ in range(2):
        assert client.post(reverse("making:event", args=[make.pk]), form).status_code == 302
    event = LotEvent.objects.get(lot=make.lot, kind="starter_added")
    assert event.occurred_at == datetime(2026, 3, 10, 6, 45, tzinfo=UTC)
    assert DueCheck.objects.filter(lot=make.lot, check_due__name="pH of the curd").count() == 3


def test_another_event_under_the_same_id_is_a_conflict_and_nothing_is_lost(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - HOUR), signed_in(dairy.helper)
    form = {"event_id": str(uuid4()), "occurred_at": "2026-03-10T06:45", "kind": "starter_added"}
    client.post(reverse("making:event", args=[make.pk]), form)
    answer = client.post(reverse("making:event", args=[make.pk]), form | {"kind": "cut", "note": "firm"})
    assert answer.status_code == 409
    assert "firm" in answer.content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"occurred_at": "2026-03-10T05:00"}, "before WT260310 began"),
        ({"occurred_at": "2026-03-10T09:00"}, "in the future"),
        ({"kind": "exploded"}, "Choose what happened from the list"),
    ],
)
def test_an_event_that_cannot_be_is_refused(dairy: Dairy, changes: dict[str, str], sentence: str) -> None:
    make = dairy.start_make(at=NOW - HOUR)
    form = {"event_id": str(uuid4()), "occurred_at": "2026-03-10T06:45", "kind": "cut"} | changes
    answer = signed_in(dairy.helper).post(reverse("making:event", args=[make.pk]), form)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_next_events_follow_the_last_one_and_those_passed_over_come_after() -> None:
    assert next_events({"make_started", "starter_added", "cut"}) == (
        "drained", "moulded", "pressed", "salted", "rennet_added",
    )  # fmt: skip


def test_a_batch_on_hold_says_so_first_and_leads_to_the_deviation(dairy: Dairy) -> None:
    make = dairy.start_make(at=NOW - 8 * HOUR)
    dairy.event(make, "starter_added", at=NOW - 8 * HOUR)
    dairy.save("pH of the curd", "5.90", at=NOW - HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    page = signed_in(dairy.helper).get(reverse("making:batch", args=[make.pk])).content.decode()

    assert "Not to be sold: on hold" in page
    assert reverse("deviations:detail", args=[Deviation.objects.get().pk]) in page
    assert "≤ 5.40 by 6 h" in page  # the curve against its limit
    assert "The curve in numbers" in page


def test_a_page_with_its_checks_met_leaves_the_days_and_the_vat_to_be_proven(dairy: Dairy) -> None:
    """A plan whose only checks of a batch are its acidity and its heat treatment; both and the milk's are settled."""
    milk = dairy.receive_milk(at=NOW - 9 * HOUR)
    make = dairy.start_make(at=NOW - 8 * HOUR, milk=milk)
    client = signed_in(dairy.helper)
    address = reverse("making:batch", args=[make.pk])
    assert "Not to be sold yet" in client.get(address).content.decode()

    dairy.event(make, "starter_added", at=NOW - 8 * HOUR)
    values = {"Milk acceptance": ("6.0", "negative"), "pH of the curd": ("5.10",)}
    instrument = {"Milk acceptance": dairy.thermometer, "pH of the curd": dairy.ph_meter}
    for due in DueCheck.objects.filter(lot__in=[milk.lot, make.lot], check_due__name__in=values).order_by("due_at"):
        name = due.check_due.name
        dairy.save(
            name, *values[name], at=due.due_at, lot_id=due.lot_id, due_id=due.id, instrument_id=instrument[name].id
        )
    due = DueCheck.objects.get(lot=make.lot, check_due__name="Heat treatment")
    dairy.save("Heat treatment", at=due.due_at, lot_id=make.pk, due_id=due.id, trace_id=heated(dairy, make).pk,
               instrument_id=dairy.recorder.id)  # fmt: skip
    page = client.get(address).content.decode()

    # What is left is proven by signing the days of milk and make, and by the cleaning of the vat before it.
    assert "3 things stand in the way, 1 of them because nothing proves it." in " ".join(page.split())
    assert "63.0 °C limit" in page  # the recording against 63 °C for 30 min, (EC) 853/2004 Annex III s. IX ch. II
    assert "The recording in numbers" in page


def heated(dairy: Dairy, make: Make) -> TraceFile:
    """A recorder's file of 40 min at 65 °C."""
    t_s = np.arange(0.0, 2401.0, 10.0)
    trace = Trace(started_at=make.lot.begun_at, t_s=t_s, channels={"milk": 65.0 + 0.1 * np.sin(t_s / 60)})
    return TraceFile.objects.create(
        premises=dairy.owner.premises,
        lot=make.lot,
        filename="vat 1.csv",
        sha256="0" * 64,
        raw_deflated=zlib.compress(b"65"),
        samples=trace_store.pack(trace),
        started_at=trace.started_at,
        duration_s=trace.duration_s,
        sample_count=t_s.size,
        roles={"milk": "product"},
        uploaded_by=dairy.maker.user,
    )


def test_lists_cost_the_same_for_one_make_and_for_many(dairy: Dairy) -> None:
    client = signed_in(dairy.helper)
    dairy.start_make(at=NOW - HOUR)
    with CaptureQueriesContext(connection) as one:
        client.get(reverse("making:list"))
    for n in range(1, 5):
        make = dairy.start_make(at=NOW - timedelta(days=n))
        dairy.event(make, "placed_in_room", at=NOW - timedelta(days=n) + HOUR, place=dairy.room)
    with CaptureQueriesContext(connection) as many:
        page = client.get(reverse("making:list")).content.decode()
    assert page.count("Room 1") == 4
    assert len(many) == len(one)
    ripening = client.get(reverse("making:list"), {"part": "ripening"}).content.decode()
    assert "WT260309" in ripening
    assert "WT260310" not in ripening


def test_somebody_who_only_reads_sees_no_buttons_and_is_refused(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - HOUR), reader(dairy)
    page = client.get(reverse("making:batch", args=[make.pk])).content.decode()
    assert "What happens next?" not in page
    assert "Do it now" not in page
    for address in (reverse("making:new"), reverse("making:event", args=[make.pk])):
        assert client.get(address).status_code == 403
