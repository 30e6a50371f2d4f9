"""Milk: its list, its arrival as typed, and the page of one lot."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.intake.models import MilkLot
from haccp.checks.models import DueCheck
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


def typed(**changes: str) -> dict[str, str]:
    return {
        "lot_id": str(uuid4()),
        "species": "cow",
        "source": "own herd",
        "volume": "100",
        "volume_unit": "gal (US)",
        "received_at": "2026-03-10T06:30",
    } | changes


def test_milk_typed_in_gallons_becomes_one_lot_however_often_it_is_sent(dairy: Dairy) -> None:
    client, form = signed_in(dairy.helper), typed()
    first = client.post(reverse("intake:new"), form)
    again = client.post(reverse("intake:new"), form)

    milk = MilkLot.objects.get()
    # 1 US gallon = 231 in³ = 3.785411784 L: NIST SP 811 (2008), appendix B.8.
    assert milk.volume_l == pytest.approx(378.5411784)
    assert (milk.typed_volume, milk.typed_unit) == ("100", "gal (US)")
    assert first["Location"] == again["Location"] == reverse("intake:detail", args=[milk.pk])


def test_the_page_of_new_milk_offers_its_due_check_first(dairy: Dairy) -> None:
    client = signed_in(dairy.helper)
    page = client.post(reverse("intake:new"), typed(), follow=True).content.decode()
    due = DueCheck.objects.get(lot__kind="milk")
    assert reverse("checks:due", args=[due.pk]) in page


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"volume": "lots"}, "is not a number"),
        ({"volume": "0"}, "more than nothing"),
        ({"source": " "}, "Say whose milk it is"),
        ({"received_at": "2026-03-11T06:30"}, "That time is in the future"),
        ({"received_at": "2026-03-29T01:30"}, "The clock skipped 01:30"),  # Dublin puts the clock forward then
    ],
)
def test_what_cannot_be_used_is_said_and_everything_typed_is_kept(
    dairy: Dairy, changes: dict[str, str], sentence: str
) -> None:
    form = typed(source="Hill Farm") | changes
    answer = signed_in(dairy.helper).post(reverse("intake:new"), form)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert sentence in page
    for kept in (form["lot_id"], form["volume"], form["received_at"], form["source"].strip()):
        assert kept in page
    assert not MilkLot.objects.exists()


def test_earlier_sources_are_offered(dairy: Dairy) -> None:
    dairy.receive_milk(at=NOW - HOUR)
    page = signed_in(dairy.helper).get(reverse("intake:new")).content.decode()
    assert '<option value="own herd">' in page


def test_the_list_shows_what_is_left_and_costs_the_same_for_one_lot_and_for_many(dairy: Dairy) -> None:
    client = signed_in(dairy.helper)
    dairy.start_make(at=NOW, milk=dairy.receive_milk(at=NOW - HOUR))
    with CaptureQueriesContext(
        connection,
    ) as one:
        page = client.get(reverse("intake:list")).content.decode()
    assert "used up" in page
    for n in range(5):
        dairy.receive_milk(at=NOW - timedelta(minutes=n))
    with CaptureQueriesContext(connection) as many:
        page = client.get(reverse("intake:list")).content.decode()
    assert page.count("200.0") >= 10  # amount and what is left, of each lot
    assert len(many) == len(one)


def test_somebody_who_only_reads_sees_no_button_and_is_refused_the_form(dairy: Dairy) -> None:
    client = reader(dairy)
    assert reverse("intake:new") not in client.get(reverse("intake:list")).content.decode()
    assert client.get(reverse("intake:new")).status_code == 403
