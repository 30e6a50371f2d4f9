"""A deviation to its end: widened, tasks, evidence, two people, effectiveness, and the end of what is destroyed."""

from datetime import UTC, date, datetime
from io import BytesIO
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.urls import reverse

from batches.making.models import Make
from batches.stock import actions as stock
from batches.stock.queries import why_not_leave
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation, Evidence, LotEnd, Task
from haccp.deviations.queries import guide
from haccp.ledger import triggers
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold
from haccp.plan.models import ControlPoint
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.web.pages import signed_in, stranger

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def reported(dairy: Dairy, make: Make, *, point: str = "Heat treatment", **more: object) -> Deviation:
    arguments: dict[str, object] = {
        "scope": dairy.maker,
        "deviation_id": uuid4(),
        "control_point_id": dairy.check(point).control_point_id,
        "summary": "It tasted of soap.",
        "occurred_at": MORNING + 2 * HOUR,
        "lot_ids": [make.pk],
        "now": MORNING + 2 * HOUR,
    }
    return deviations.deviation_report(**(arguments | more))  # type: ignore[arg-type]


def led_through(dairy: Dairy, deviation: Deviation, disposition: str, *, at: datetime) -> None:
    """Every element of 21 CFR 117.150(a)(2)(i)-(iv) and (b) as the maker records it."""
    by_maker = {"scope": dairy.maker, "deviation_id": deviation.pk, "text": "As written in the book.", "now": at}
    for kind in ("cause", "correction", "prevention", "reassessment"):
        deviations.step_add(step_id=uuid4(), kind=kind, **by_maker)  # type: ignore[arg-type]
    for one in guide(deviation).implicated:
        deviations.step_add(
            step_id=uuid4(), kind="disposition", lot_id=one.lot_id, disposition=disposition, **by_maker  # type: ignore[arg-type]
        )  # fmt: skip


def closed(dairy: Dairy, deviation: Deviation, *, at: datetime, **more: object) -> object:
    seen = guide(deviation).content_sha256
    arguments = {"scope": dairy.owner, "deviation_id": deviation.pk, "password": PASSWORD, "now": at}
    return deviations.deviation_close(**(arguments | {"seen_sha256": seen} | more))  # type: ignore[arg-type]


def test_a_complaint_is_widened_by_a_person_and_narrowed_only_with_a_reason(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=MORNING - HOUR, volume="400")
    first = dairy.start_make(at=MORNING, milk=milk)
    second = dairy.start_make(at=MORNING - 30 * HOUR)
    deviation = reported(dairy, first, is_complaint=True)
    assert deviation.cause == "complaint"
    assert [one.lot for one in deviation.implicated.all()] == [first.lot]

    widen = {"scope": dairy.helper, "widening_id": uuid4(), "deviation_id": deviation.pk, "now": MORNING + 3 * HOUR}
    with pytest.raises(ActionError, match="Say why"):
        deviations.deviation_widen(lot_ids=[second.pk], reason=" ", **widen)  # type: ignore[arg-type]
    with pytest.raises(ActionError, match="at least one lot"):
        deviations.deviation_widen(lot_ids=[], reason="Same vat.", **widen)  # type: ignore[arg-type]
    widening = deviations.deviation_widen(lot_ids=[second.pk], reason="Same vat.", **widen)  # type: ignore[arg-type]
    assert deviations.deviation_widen(lot_ids=[second.pk], reason="Same vat.", **widen) == widening  # type: ignore[arg-type]
    with pytest.raises(ActionError, match="implicated already"):
        deviations.deviation_widen(lot_ids=[second.pk], reason="x", **(widen | {"widening_id": uuid4()}))  # type: ignore[arg-type]
    assert set(Hold.objects.standing().values_list("lot", flat=True)) == {first.pk, second.pk}

    narrow = {
        "deviation_id": deviation.pk, "kind": "disposition", "lot_id": second.pk, "disposition": "not_touched",
        "now": MORNING + 3 * HOUR,
    }  # fmt: skip
    with pytest.raises(NotAllowed):
        deviations.step_add(scope=dairy.helper, step_id=uuid4(), text="Cleaned between.", **narrow)  # type: ignore[arg-type]
    with pytest.raises(ActionError, match="Say why"):
        deviations.step_add(scope=dairy.maker, step_id=uuid4(), text="", **narrow)  # type: ignore[arg-type]
    deviations.step_add(scope=dairy.maker, step_id=uuid4(), text="Cleaned between.", **narrow)  # type: ignore[arg-type]
    assert set(Hold.objects.standing().values_list("lot", flat=True)) == {first.pk}
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_task_keeps_it_open_and_its_effectiveness_is_looked_at_a_month_later(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    deviation = reported(dairy, make)
    at = MORNING + 3 * HOUR
    task = {"scope": dairy.maker, "deviation_id": deviation.pk, "title": "Order a probe", "now": at}
    with pytest.raises(ActionError) as refused:
        deviations.task_add(
            task_id=uuid4(), owner_id=open_dairy(name="Glen Dairy").owner.user.pk, due_on=date(2026, 3, 9), **task  # type: ignore[arg-type]
        )  # fmt: skip
    assert set(refused.value.fields) == {"owner", "due_on"}
    made = deviations.task_add(task_id=uuid4(), owner_id=dairy.helper.user.pk, due_on=date(2026, 3, 12), **task)  # type: ignore[arg-type]
    led_through(dairy, deviation, "release", at=at)
    with pytest.raises(ActionError, match=r"Order a probe \(Hanna Helper\) is still to be done"):
        closed(dairy, deviation, at=at)
    with time_machine.travel(at, tick=False):
        page = signed_in(dairy.helper).get(reverse("checks:today")).content.decode()
        assert "D2026-001: Order a probe" in page
        assert "Hanna Helper" in page
    deviations.task_do(scope=dairy.helper, task_id=made.pk, note="Ordered.", now=at)
    closed(dairy, deviation, at=at)
    look = Task.objects.get(kind="effectiveness")
    assert look.due_on == date(2026, 4, 9)
    with pytest.raises(ActionError, match="Say whether it worked"):
        deviations.task_do(scope=dairy.owner, task_id=look.pk, note="No more soap.", now=at)
    deviations.task_do(scope=dairy.owner, task_id=look.pk, note="No more soap.", worked=True, now=at)
    with pytest.raises(Conflict, match="already recorded"):
        deviations.task_do(scope=dairy.maker, task_id=look.pk, note="It came again.", worked=False, now=at)


def test_what_is_destroyed_ends_its_hold_and_goes_nowhere_again(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    at = MORNING + 3 * HOUR
    # A prerequisite: nothing is held when it opens, but what is to be destroyed is held when it is closed.
    deviation = reported(dairy, make, point="Vat 1 cleaned")
    assert not Hold.objects.exists()
    led_through(dairy, deviation, "destroy", at=at)
    end = {
        "scope": dairy.owner, "end_id": uuid4(), "deviation_id": deviation.pk, "lot_id": make.pk, "ended_at": at,
        "now": at,
    }  # fmt: skip
    with pytest.raises(ActionError, match="still open"):
        deviations.lot_end_record(note="Buried.", **end)  # type: ignore[arg-type]
    closed(dairy, deviation, at=at)
    assert Hold.objects.standing().filter(lot=make.lot).exists()
    with pytest.raises(ActionError, match="how it was done"):
        deviations.lot_end_record(note="", **end)  # type: ignore[arg-type]
    deviations.lot_end_record(note="Buried with lime, seen by Milo.", **end)  # type: ignore[arg-type]
    assert LotEnd.objects.get().disposition == "destroy"
    assert not Hold.objects.standing().exists()
    assert why_not_leave([make.pk]) == {make.pk: "no more: destroy"}
    (wheel,) = stock.items_add(
        scope=dairy.maker,
        request_id=uuid4(),
        lot_id=make.pk,
        kind="wheel",
        weights="3",
        unit="kg",
        entered_at=at,
        now=at,
    )
    shop = stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="Shop", phone="1")
    with pytest.raises(ActionError, match="is no more: destroy"):
        stock.dispatch_record(
            scope=dairy.maker, dispatch_id=uuid4(), customer_id=shop.pk, item_ids=[wheel.pk], document_type="note",
            document_number="1", dispatched_at=at, now=at,
        )  # fmt: skip
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_where_the_plan_says_two_nobody_closes_alone_what_they_recorded(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    deviation = reported(dairy, make)
    at = MORNING + 3 * HOUR
    led_through(dairy, deviation, "release", at=at)
    # The plan of the test dairy is approved and frozen: its row is changed behind the triggers.
    with triggers.lifted(connection):
        ControlPoint.objects.filter(pk=deviation.control_point_id).update(two_to_close=True)
    with pytest.raises(ActionError, match="asks for two people"):
        closed(dairy, deviation, at=at, scope=dairy.maker)
    closed(dairy, deviation, at=at, scope=dairy.owner)


def test_evidence_is_kept_byte_for_byte_and_given_back_as_a_download_here_alone(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    deviation = reported(dairy, make)
    with time_machine.travel(MORNING + 3 * HOUR, tick=False):
        client = signed_in(dairy.helper)
        disguised = BytesIO(b"<script>alert(1)</script>")
        disguised.name = "tank.jpg"
        address = reverse("deviations:attach", args=[deviation.pk])
        refused = client.post(address, {"request_id": str(uuid4()), "file": disguised, "note": "Looks odd."})
        assert refused.status_code == 422
        assert "by its content it is none of the kinds taken" in refused.content.decode()
        assert "Looks odd." in refused.content.decode()
        upload = BytesIO("Ventil undicht: 4 °C".encode("latin-1"))
        upload.name = 'tank "2".txt'
        form = {"request_id": str(uuid4()), "file": upload, "note": "The tank."}
        assert client.post(address, form).status_code == 302
        kept = Evidence.objects.get()
        answer = client.get(reverse("deviations:evidence", args=[kept.pk]))
        assert answer.content == "Ventil undicht: 4 °C".encode("latin-1")
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Type"] == "application/octet-stream"
        assert answer["Content-Disposition"].startswith("attachment")
        nothing = client.post(address, {"request_id": str(uuid4()), "note": "Forgot the file."})
        assert nothing.status_code == 422
        assert "Forgot the file." in nothing.content.decode()
        assert stranger().get(reverse("deviations:evidence", args=[kept.pk])).status_code == 404
        page = client.get(reverse("deviations:detail", args=[deviation.pk])).content.decode()
        assert "The tank." in page
        assert "May more be touched?" in page
        widen = reverse("deviations:widen", args=[deviation.pk])
        refused = client.post(widen, {"request_id": str(uuid4()), "codes": "XX1", "reason": "Same brine."})
        assert refused.status_code == 422
        assert "There is no lot XX1 here." in refused.content.decode()
        assert "Same brine." in refused.content.decode()
