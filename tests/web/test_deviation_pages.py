"""Deviations: the list, a report by hand, and the walk to the closing signature."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.making.models import Make
from haccp.deviations.models import CorrectiveStep, Deviation
from haccp.lots.models import Hold
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 18, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW):  # ticking: the later of two steps counts
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


@pytest.fixture
def make(dairy: Dairy) -> Make:
    return dairy.start_make(at=NOW - 9 * HOUR)


@pytest.fixture
def deviation(dairy: Dairy, make: Make) -> Deviation:
    dairy.event(make, "starter_added", at=NOW - 9 * HOUR)
    dairy.save("pH of the curd", "5.90", at=NOW - 2 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    return Deviation.objects.get()


def page_of(client: Client, deviation: Deviation) -> str:
    return client.get(reverse("deviations:detail", args=[deviation.pk])).content.decode()


def add(client: Client, deviation: Deviation, kind: str, **typed: str) -> int:
    form = {"step_id": str(uuid4()), "kind": kind} | typed
    return client.post(reverse("deviations:step", args=[deviation.pk]), form).status_code


def sign(client: Client, deviation: Deviation, *, password: str = PASSWORD, seen: str = "") -> tuple[int, str]:
    shown = re.search(r'name="seen_sha256" value="(\w+)"', page_of(client, deviation))
    form = {"password": password, "seen_sha256": seen or (shown[1] if shown else "0")}
    answer = client.post(reverse("deviations:close", args=[deviation.pk]), form, follow=True)
    return answer.status_code, answer.content.decode()


def walk_to_the_signature(client: Client, deviation: Deviation, make: Make) -> None:
    for kind in ("cause", "correction", "prevention", "reassessment"):
        assert add(client, deviation, kind, text=f"The {kind} in our words.") == 302
    assert add(client, deviation, "disposition", text="Tested clean.", lot=str(make.pk), disposition="release") == 302


def test_the_page_tells_what_happened_what_is_touched_and_what_the_plan_says(
    dairy: Dairy, make: Make, deviation: Deviation
) -> None:
    page = page_of(signed_in(dairy.helper), deviation)
    assert "pH 5.90" in page
    assert make.lot.code in page
    assert "on hold" in page
    assert "Keep the batch apart; have it tested for coagulase-positive staphylococci." in page
    assert f"Decide what happens to {make.lot.code}." in page
    assert reverse("checks:record", args=[deviation.ruling.record_id]) in page  # type: ignore[union-attr]


def test_from_the_steps_to_the_signature_and_the_hold_is_lifted(dairy: Dairy, make: Make, deviation: Deviation) -> None:
    client = signed_in(dairy.maker)
    assert "Sign and close D2026-001" not in page_of(client, deviation)
    walk_to_the_signature(client, deviation, make)
    status, page = sign(client, deviation)

    assert status == 200
    assert f"Its hold was lifted from {make.lot.code}." in page
    assert "Signed by Milo Maker" in page
    assert not Hold.objects.standing().exists()


def test_a_lot_to_be_destroyed_stays_on_hold_and_the_page_says_so(
    dairy: Dairy, make: Make, deviation: Deviation
) -> None:
    client = signed_in(dairy.maker)
    walk_to_the_signature(client, deviation, make)
    add(client, deviation, "disposition", text="Too risky after all.", lot=str(make.pk), disposition="destroy")
    _, page = sign(client, deviation)
    assert f"{make.lot.code} stays on hold for good, as decided." in page
    assert Hold.objects.standing().count() == 1
    assert "Tested clean." in page  # what was decided first stays visible


def test_a_wrong_password_signs_nothing(dairy: Dairy, make: Make, deviation: Deviation) -> None:
    client = signed_in(dairy.maker)
    walk_to_the_signature(client, deviation, make)
    status, page = sign(client, deviation, password="guess")
    assert status == 422
    assert "That is not your password; nothing was signed." in page
    assert not hasattr(Deviation.objects.get(), "closure")


def test_what_was_added_meanwhile_is_read_again_before_it_is_signed(
    dairy: Dairy, make: Make, deviation: Deviation
) -> None:
    client = signed_in(dairy.maker)
    walk_to_the_signature(client, deviation, make)
    stale = re.search(r'name="seen_sha256" value="(\w+)"', page_of(client, deviation))
    assert stale is not None
    add(signed_in(dairy.helper), deviation, "cause", text="The starter was three weeks old.")
    status, page = sign(client, deviation, seen=stale[1])

    assert status == 409
    assert "Something was added while you were reading." in page
    assert "The starter was three weeks old." in page
    assert stale[1] not in page  # the page offers what it now shows, so that signing again can succeed
    assert sign(client, deviation)[0] == 200


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"text": "because I say so"}, "Choose what happens to the product."),
        ({"text": "", "disposition": "release"}, "Say why this is safe to do with the product."),
    ],
)
def test_a_disposition_that_lacks_something_keeps_what_was_typed(
    dairy: Dairy, make: Make, deviation: Deviation, typed: dict[str, str], sentence: str
) -> None:
    form = {"step_id": str(uuid4()), "kind": "disposition", "lot": str(make.pk)} | typed
    answer = signed_in(dairy.helper).post(reverse("deviations:step", args=[deviation.pk]), form)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert form["step_id"] in page
    assert form["text"] in page
    assert not CorrectiveStep.objects.exists()


def test_a_double_tap_is_one_step(dairy: Dairy, deviation: Deviation) -> None:
    client, same = signed_in(dairy.helper), str(uuid4())
    for _ in range(2):
        add(client, deviation, "cause", text="Old starter.", step_id=same)
    assert CorrectiveStep.objects.count() == 1


def test_a_helper_walks_every_step_and_cannot_sign(dairy: Dairy, make: Make, deviation: Deviation) -> None:
    client = signed_in(dairy.helper)
    walk_to_the_signature(client, deviation, make)
    assert "Your role here does not sign it" in page_of(client, deviation)
    assert sign(client, deviation)[0] == 403


def test_a_report_by_hand_holds_what_was_named_and_what_was_made_of_it(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=NOW - 9 * HOUR)
    make = dairy.start_make(at=NOW - 8 * HOUR, milk=milk)
    form = {
        "deviation_id": str(uuid4()),
        "summary": "The tank stood open over night.",
        "control_point": str(dairy.revision.control_points.get(code="CCP 1").pk),
        "occurred_at": "2026-03-10T09:00",
        "lots": [str(milk.pk)],
    }
    client = signed_in(dairy.helper)
    for _ in range(2):
        assert client.post(reverse("deviations:report"), form).status_code == 302
    deviation = Deviation.objects.get()
    assert {one.lot_id for one in deviation.implicated.all()} == {milk.pk, make.pk}
    assert {hold.lot_id for hold in Hold.objects.standing()} == {milk.pk, make.pk}


def test_a_report_that_lacks_something_keeps_what_was_typed(dairy: Dairy, make: Make) -> None:
    form = {"deviation_id": str(uuid4()), "summary": "Glass broke.", "occurred_at": "2026-03-10T09:00"}
    answer = signed_in(dairy.helper).post(reverse("deviations:report"), form | {"lots": [str(make.pk)]})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Choose the control point of the plan" in page
    assert "Glass broke." in page
    assert re.search(rf'value="{make.pk}"[^>]*checked', page)


def test_the_list_puts_open_ones_first_and_costs_the_same_for_many(
    dairy: Dairy, make: Make, deviation: Deviation
) -> None:
    client = signed_in(dairy.maker)
    with CaptureQueriesContext(connection) as one:
        client.get(reverse("deviations:list"))
    walk_to_the_signature(client, deviation, make)
    sign(client, deviation)
    other = dairy.start_make(at=NOW - 8 * HOUR)
    dairy.event(other, "starter_added", at=NOW - 8 * HOUR)
    for minute in range(4):
        at = NOW - HOUR + minute * HOUR / 60
        dairy.save("pH of the curd", "5.90", at=at, lot_id=other.lot_id, instrument_id=dairy.ph_meter.id)
    with CaptureQueriesContext(connection) as many:
        page = client.get(reverse("deviations:list")).content.decode()
    assert page.index("D2026-002") < page.index("D2026-001")
    assert len(many) == len(one)
    still_open = client.get(reverse("deviations:list"), {"state": "open"}).content.decode()
    assert "D2026-001" not in still_open


def test_somebody_who_only_reads_sees_no_forms(dairy: Dairy, deviation: Deviation) -> None:
    client = reader(dairy)
    assert "step_id" not in page_of(client, deviation)
    assert add(client, deviation, "cause", text="I wonder.") == 403
