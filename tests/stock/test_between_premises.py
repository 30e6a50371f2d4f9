"""Cheese moved between two premises of one producer: it leaves once, arrives once, and a hold there is a hold here."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any
from uuid import UUID, uuid4

import pypdf
import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from batches.making.models import Make
from batches.recall.export.epcis import epcis_document
from batches.recall.export.key_data import key_data
from batches.recall.findings import findings
from batches.stock import actions as stock
from batches.stock.labels.content import batch_labels
from batches.stock.labels.resolve import resolve
from batches.stock.models import Arrival, Customer, Dispatch, Item
from batches.stock.queries import arriving_at, items_of, stock_by_lot, why_not_leave
from batches.tracing import actions as tracing
from batches.tracing.graph import trace_of
from haccp.deviations import actions as deviations
from haccp.deviations.queries import guide
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.actions import refuse_held
from haccp.lots.models import Lot
from haccp.lots.queries import HELD_ELSEWHERE, held_count, lots_of
from haccp.premises import grants
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Membership, Premises
from haccp.premises.scope import Scope
from tests.api.device import Device, refusal
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.release.ready import ready_batch, released
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATER = MORNING + timedelta(days=1)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(LATER + 2 * HOUR, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


@pytest.fixture
def cave(dairy: Dairy) -> Dairy:
    """With people of its own; nobody of the dairy belongs to it."""
    return _beside(dairy, "Cave Store")


def _beside(dairy: Dairy, name: str) -> Dairy:
    """Another premises of the producer, with an approved plan: opened as a dairy, then given to the producer."""
    opened = open_dairy(name=name)
    Premises.objects.filter(pk=opened.owner.premises.pk).update(producer=dairy.owner.premises.producer)
    for scope in (opened.owner, opened.maker, opened.helper):
        scope.membership.refresh_from_db()
    return opened


@pytest.fixture
def make(dairy: Dairy) -> Make:
    """Released; three wheels of 3.0, 3.1 and 3.2 kg."""
    make = ready_batch(dairy, at=MORNING)
    stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0\n3.1\n3.2", unit="kg",
        entered_at=LATER, place_id=dairy.room.pk, best_before=date(2026, 6, 1), now=LATER,
    )  # fmt: skip
    released(dairy, make, now=LATER)
    return make


def send(dairy: Dairy, to: Dairy, *items: Item, **more: Any) -> Dispatch:
    arguments: dict[str, Any] = {
        "scope": dairy.maker, "dispatch_id": uuid4(), "own_premises_id": to.owner.premises.pk,
        "item_ids": [item.pk for item in items], "document_type": "delivery note", "document_number": "DN 17",
        "dispatched_at": LATER + HOUR,
    }  # fmt: skip
    return stock.dispatch_record(**(arguments | more))


def accept(cave: Dairy, dispatch: Dispatch, *items: Item, **more: Any) -> Arrival:
    arguments: dict[str, Any] = {
        "scope": cave.helper, "arrival_id": uuid4(), "dispatch_id": dispatch.pk,
        "item_ids": [item.pk for item in items], "arrived_at": LATER + 2 * HOUR, "place_id": cave.room.pk,
    }  # fmt: skip
    return stock.arrival_accept(**(arguments | more))


def arrived_lot(arrival: Arrival) -> Lot:
    return arrival.lots.get().lot


def report(dairy: Dairy, lot_id: UUID) -> Any:
    return deviations.deviation_report(
        scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Heat treatment").control_point_id,
        summary="The recorder was found high.", occurred_at=LATER, lot_ids=[lot_id],
    )  # fmt: skip


def kg_here(dairy: Dairy) -> float:
    return sum(item.now_kg for item in items_of(dairy.owner.premises, only_here=True))


def test_what_leaves_one_arrives_at_the_other_once_and_what_is_missing_is_unexplained(
    dairy: Dairy, cave: Dairy, make: Make
) -> None:
    first, second, third = make.lot.items.all()
    dispatch_id = uuid4()
    sent = send(dairy, cave, first, second, dispatch_id=dispatch_id)
    assert send(dairy, cave, first, second, dispatch_id=dispatch_id) == sent
    assert kg_here(dairy) == pytest.approx(3.2)
    assert kg_here(cave) == 0.0
    assert list(arriving_at(cave.owner.premises)) == [sent]
    # Whoever must be called in a recall of it is somebody there.
    assert (sent.customer.name, sent.customer.email, sent.customer.is_ours) == (
        "Cave Store", cave.owner.user.email, True,
    )  # fmt: skip

    with pytest.raises(ActionError, match="was not sent with this dispatch"):
        accept(cave, sent, third)
    with pytest.raises(ActionError, match="before it was sent"):
        accept(cave, sent, first, arrived_at=LATER)
    with pytest.raises(ActionError, match="in the future"):
        accept(cave, sent, first, arrived_at=LATER + 4 * HOUR)
    with pytest.raises(ActionError, match="Nothing of that kind was sent here"):
        accept(dairy, sent, first)
    # It is stock in one place at a time: nobody takes back what may be accepted there.
    with pytest.raises(ActionError, match="went to another premises of yours"):
        stock.items_return(
            scope=dairy.maker, request_id=uuid4(), dispatch_id=sent.pk, item_ids=[first.pk],
            returned_at=LATER + HOUR, note="Full there.",
        )  # fmt: skip
    arrival_id = uuid4()
    arrival = accept(cave, sent, second, arrival_id=arrival_id, note="One fell off the van.")
    assert accept(cave, sent, second, arrival_id=arrival_id) == arrival
    with pytest.raises(Conflict, match="other content"):
        accept(cave, sent, first, arrival_id=arrival_id)
    with pytest.raises(Conflict, match="already recorded"):
        accept(cave, sent, first, second)
    assert not arriving_at(cave.owner.premises)

    came = arrival.lots.get()
    assert (came.origin_code, came.lot.code, came.sent_pieces, came.pieces) == (make.lot.code, make.lot.code, 2, 1)
    assert (came.missing_pieces, came.missing_kg) == (1, pytest.approx(3.0))
    (wheel,) = came.lot.items.all()
    assert (wheel.number, wheel.weight_kg, wheel.best_before, wheel.place) == (
        second.number, pytest.approx(3.1), date(2026, 6, 1), cave.room,
    )  # fmt: skip
    assert kg_here(cave) == pytest.approx(3.1)
    there = trace_of(cave.owner.premises, came.lot).balance
    assert (there.there, there.unexplained) == (pytest.approx(6.1), pytest.approx(3.0))
    assert trace_of(dairy.owner.premises, make.lot).balance.unexplained == pytest.approx(0.0)
    for one in (dairy, cave):
        result = verify_log(Log.objects.get(pk=one.owner.log_id))
        assert result.holds, result.problem
    for table in ("stock_transfer", "stock_arrival", "stock_arrivedlot", "lots_lotorigin"):
        with pytest.raises(DatabaseError, match="sealed"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {table}")


def test_what_arrived_is_sold_from_there_under_the_release_it_came_with(dairy: Dairy, cave: Dairy, make: Make) -> None:
    items = list(make.lot.items.all())
    lot = arrived_lot(accept(cave, send(dairy, cave, *items), *items))
    assert why_not_leave([lot.pk]) == {}
    (here,) = stock_by_lot(cave.owner.premises)
    assert (here.lot, here.count, here.may_leave) == (lot, 3, True)
    first, second, third = lot.items.all()
    shop = stock.customer_add(scope=cave.maker, customer_id=uuid4(), name="Shop", phone="1")
    at = LATER + 2 * HOUR
    sent = send(cave, cave, first, own_premises_id=None, customer_id=shop.pk, dispatched_at=at)
    assert sent.events.get().weight_kg == pytest.approx(3.0)
    stock.counter_open(scope=cave.maker, request_id=uuid4(), item_ids=[second.pk], opened_at=at)
    stock.counter_total(scope=cave.maker, sale_id=uuid4(), lot_id=lot.pk, day=at.date(), weight="1.1", unit="kg")
    stock.item_cut(
        scope=cave.maker, request_id=uuid4(), item_id=third.pk, kind="pack", weights="10 × 0.3", unit="kg", cut_at=at
    )
    found = findings(cave.owner.premises, lot, "forward")
    assert [one.customer for one in found.customers] == [shop]
    assert (found.made_kg, found.dispatched_kg) == (pytest.approx(9.3), pytest.approx(3.0))
    # 3.0 kg sold to the shop, 3.1 opened at the counter, 3.0 in packs, 0.2 trim.
    assert found.in_house_kg == pytest.approx(3.1 - 1.1 + 3.0)
    assert found.unexplained_kg == pytest.approx(0.0)
    with pytest.raises(ActionError, match="no such batch"):
        stock.items_add(
            scope=cave.maker, request_id=uuid4(), lot_id=lot.pk, kind="wheel", weights="3", unit="kg", entered_at=at
        )
    # 21 CFR 1.1345(a): received with the lot code it was given where it was made.
    received, _made, _shipped = key_data(cave.owner.premises, at.date(), at.date())
    assert [row[:3] for row in received.rows] == [(make.lot.code, pytest.approx(9.3), "kg")]
    assert received.rows[0][4] == dairy.owner.premises.name
    # EPCIS: one name of the lot in what the one says it shipped and the other says it received.
    (arrived,) = _events(cave, at.date(), "receiving")
    (shipped,) = _events(dairy, at.date(), "shipping")
    assert arrived["quantityList"] == shipped["quantityList"]
    assert (arrived["sourceList"], arrived["destinationList"]) == (shipped["sourceList"], shipped["destinationList"])
    assert arrived["bizTransactionList"] == shipped["bizTransactionList"]


def _events(dairy: Dairy, on: date, step: str) -> list[Any]:
    made: Any = epcis_document(dairy.owner.premises, on, on, site="https://dairy.example", made_at=LATER)
    return [one for one in made["epcisBody"]["eventList"] if one["bizStep"] == step and "sourceList" in one]


def test_the_label_of_what_arrived_says_what_it_is_and_its_code_opens_it_there(
    dairy: Dairy, cave: Dairy, make: Make
) -> None:
    first, *_ = make.lot.items.all()
    stock.trade_number_set(scope=dairy.owner, product_id=dairy.product.pk, gtin="9506000134352")
    lot = arrived_lot(accept(cave, send(dairy, cave, first), first))
    there, here = (
        batch_labels(one.owner.premises, batch, [], "https://dairy.example")[0]
        for one, batch in ((dairy, make.lot), (cave, lot))
    )
    assert (here.title, here.code, here.beneath) == (there.title, there.code, there.beneath)
    assert here.lines[0] == f"{there.lines[0]} at {dairy.owner.premises.name}"
    rest = here.code.removeprefix("https://dairy.example/id/")
    assert resolve(cave.owner.premises, here.code, rest) == lot
    assert resolve(dairy.owner.premises, here.code, rest) == make.lot
    with time_machine.travel(LATER + 3 * HOUR, tick=False):
        answer = signed_in(cave.helper).get(reverse("stock:batch_label", args=[lot.pk]))
    assert make.lot.code in pypdf.PdfReader(BytesIO(answer.content)).pages[0].extract_text()


def test_what_is_held_or_not_released_is_not_moved(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, *_ = make.lot.items.all()
    unready = dairy.start_make(at=MORNING + 2 * HOUR)
    (young,) = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=unready.pk, kind="wheel", weights="3", unit="kg", entered_at=LATER
    )
    with pytest.raises(ActionError, match="not released"):
        send(dairy, cave, young)
    report(dairy, make.pk)
    with pytest.raises(ActionError, match="is on hold"):
        send(dairy, cave, first)
    with time_machine.travel(LATER + 2 * HOUR, tick=False):
        body = {
            "id": str(uuid4()), "own_premises": str(cave.owner.premises.pk), "items": [str(first.pk)],
            "document_number": "1", "dispatched_at": "2026-03-11T07:00:00Z",
        }  # fmt: skip
        assert "is on hold" in refusal(Device(dairy.maker).post("dispatches/", body), 400, "refused")["message"]
    assert not Dispatch.objects.exists()


def test_a_hold_where_it_was_made_holds_it_where_it_is_and_says_no_more(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, second, _ = make.lot.items.all()
    lot = arrived_lot(accept(cave, send(dairy, cave, first), first))
    on_its_way = send(dairy, cave, second)
    deviation = report(dairy, make.pk)
    # What was on its way is taken in, and held as well.
    late = arrived_lot(accept(cave, on_its_way, second))
    assert late.code == f"{make.lot.code}-2"
    assert why_not_leave([lot.pk, late.pk]) == {lot.pk: HELD_ELSEWHERE, late.pk: HELD_ELSEWHERE}
    assert "recorder" not in HELD_ELSEWHERE
    assert all(one.is_held for one in lots_of(cave.owner.premises).filter(pk__in=[lot.pk, late.pk]))
    assert held_count(cave.owner.premises) == 2
    assert findings(cave.owner.premises, lot, "forward").not_held == ()
    with pytest.raises(ActionError, match="on hold at another premises"):
        refuse_held(lot, "and cannot be used")
    shop = stock.customer_add(scope=cave.maker, customer_id=uuid4(), name="Shop", phone="1")
    with pytest.raises(ActionError, match="on hold at another premises"):
        send(cave, cave, lot.items.get(), own_premises_id=None, customer_id=shop.pk, dispatched_at=LATER + 2 * HOUR)
    page = signed_in(cave.helper).get(reverse("stock:batch", args=[lot.pk])).content.decode()
    assert "on hold at another premises" in page
    assert "recorder was found high" not in page
    (label,) = batch_labels(cave.owner.premises, lot, [], "https://dairy.example")
    assert label.warning == f"ON HOLD – NOT FOR SALE. This lot is {HELD_ELSEWHERE}."

    # Not touched after all: the hold is lifted, but the release it came with is over until it is signed again.
    deviations.step_add(
        scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.pk, kind="disposition", lot_id=make.pk,
        disposition="not_touched", text="Its own recorder was sound.",
    )  # fmt: skip
    assert why_not_leave([lot.pk]) == {lot.pk: "not released where it was made"}


def test_what_is_destroyed_where_it_was_made_leaves_nowhere(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, *_ = make.lot.items.all()
    lot = arrived_lot(accept(cave, send(dairy, cave, first), first))
    deviation = report(dairy, make.pk)
    by_maker: dict[str, Any] = {"scope": dairy.maker, "deviation_id": deviation.pk, "text": "As in the book."}
    for kind in ("cause", "correction", "prevention", "reassessment"):
        deviations.step_add(step_id=uuid4(), kind=kind, **by_maker)
    deviations.step_add(step_id=uuid4(), kind="disposition", lot_id=make.pk, disposition="destroy", **by_maker)
    deviations.deviation_close(
        scope=dairy.owner, deviation_id=deviation.pk, password=PASSWORD, seen_sha256=guide(deviation).content_sha256
    )
    deviations.lot_end_record(
        scope=dairy.owner, end_id=uuid4(), deviation_id=deviation.pk, lot_id=make.pk, note="Buried.",
        ended_at=LATER + 2 * HOUR,
    )  # fmt: skip
    assert why_not_leave([lot.pk]) == {lot.pk: HELD_ELSEWHERE}


def test_moved_on_and_back_it_is_held_by_every_premises_it_passed(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, *_ = make.lot.items.all()
    in_cave = arrived_lot(accept(cave, send(dairy, cave, first), first))
    at = LATER + 2 * HOUR
    back = send(cave, dairy, in_cave.items.get(), dispatched_at=at)
    home = arrived_lot(accept(dairy, back, in_cave.items.get(), place_id=None))
    assert (home.code, home.arrived.cheese) == (f"{make.lot.code}-2", dairy.product.name)
    assert why_not_leave([home.pk]) == {}
    report(cave, in_cave.pk)
    assert why_not_leave([home.pk, make.pk]) == {home.pk: HELD_ELSEWHERE}
    with pytest.raises(ActionError, match="is not worked in here"):
        tracing.rework_record(
            scope=dairy.maker, request_id=uuid4(), item_ids=[home.items.get().pk],
            child_id=dairy.start_make(at=MORNING + 3 * HOUR).pk, worked_at=at,
        )  # fmt: skip
    with pytest.raises(ActionError, match="Choose the pieces"):
        tracing.use_record(scope=dairy.maker, parent_id=home.pk, child_id=make.pk, amount="1", unit="kg")


def test_a_trace_crosses_only_for_who_belongs_to_both(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, *_ = make.lot.items.all()
    lot = arrived_lot(accept(cave, send(dairy, cave, first), first))
    shop = stock.customer_add(scope=cave.maker, customer_id=uuid4(), name="Quay Shop", phone="1")
    send(cave, cave, lot.items.get(), own_premises_id=None, customer_id=shop.pk, dispatched_at=LATER + 2 * HOUR)
    milk = make.lot.links_in.get().parent

    alone = trace_of(cave.owner.premises, lot, reader=cave.maker.user)
    assert (alone.lots, alone.links, alone.came_as) == ((lot,), (), (make.lot.code,))
    client = signed_in(cave.maker)
    page = client.get(reverse("tracing:trace", args=[lot.pk])).content.decode()
    assert f"From another premises of the producer: lot {make.lot.code}." in page
    assert milk.code not in page
    assert dairy.owner.premises.name not in page
    assert client.get(reverse("tracing:trace", args=[make.pk])).status_code == 404
    pdf = pypdf.PdfReader(BytesIO(client.get(reverse("reports:trace_pdf", args=[lot.pk])).content))
    text = " ".join("".join(one.extract_text() for one in pdf.pages).split())
    assert f"another premises of the producer: lot {make.lot.code}" in text
    assert milk.code not in text
    told = Device(cave.maker).get(f"lots/{lot.pk}/trace/").json()
    assert (told["back"], told["ancestors"], told["came_as"]) == ([], [], [make.lot.code])
    forward = trace_of(dairy.owner.premises, make.lot, reader=dairy.maker.user)
    assert (forward.forward, forward.descendants) == ((), ())
    assert "Quay Shop" not in signed_in(dairy.maker).get(reverse("tracing:trace", args=[make.pk])).content.decode()

    # Whoever belongs to both sees the milk from the cave, and the cave's customer from the milk.
    grants.give(scope=cave.owner, user=dairy.maker.user, role=Membership.Role.HELPER, at=LATER)
    both = Scope(Membership.objects.get(user=dairy.maker.user, premises=cave.owner.premises))
    whole = trace_of(cave.owner.premises, lot, reader=both.user)
    assert [one.pk for one in whole.ancestors] == [milk.pk, make.pk]
    assert [(one.lot, one.amount, one.unit) for one in whole.back] == [(make.lot, pytest.approx(3.0), "kg")]
    assert whole.came_as == ()
    assert whole.balances[make.pk].unexplained == pytest.approx(0.0)
    client = signed_in(dairy.maker)
    client.post(reverse("premises:choose"), {"membership": str(dairy.maker.membership.pk)})
    page = client.get(reverse("tracing:trace", args=[milk.pk])).content.decode()
    assert "Quay Shop" in page
    assert "at Cave Store" in page
    assert reverse("tracing:trace", args=[lot.pk]) not in page


def test_nothing_is_moved_to_a_stranger(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, *_ = make.lot.items.all()
    other = open_dairy(name="Glen Dairy")
    with pytest.raises(ActionError, match="your own other premises"):
        send(dairy, other, first)
    with pytest.raises(ActionError, match="your own other premises"):
        send(dairy, dairy, first)
    shop = stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="Shop", phone="1")
    for both in ({"customer_id": shop.pk}, {"own_premises_id": None}):
        with pytest.raises(ActionError, match="one of the two"):
            send(dairy, cave, first, **both)
    sent = send(dairy, cave, first)
    with pytest.raises(ActionError, match="Nothing of that kind was sent here"):
        accept(other, sent, first)
    assert Customer.objects.filter(premises=dairy.owner.premises, own_premises=cave.owner.premises).count() == 1


def test_the_pages_send_show_what_is_arriving_and_accept_it(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, second, _ = make.lot.items.all()
    sender, receiver = signed_in(dairy.helper), signed_in(cave.helper)
    form = {
        "request_id": str(uuid4()), "items": [str(first.pk), str(second.pk)], "document_type": "note",
        "document_number": "DN 18", "dispatched_at": "2026-03-11T07:30",
    }  # fmt: skip
    address = reverse("stock:dispatch_new")
    assert "Cave Store" in sender.get(address).content.decode()
    refused = sender.post(address, form)
    assert refused.status_code == 422
    assert "Choose the customer from the list." in refused.content.decode()
    for _again in range(2):
        assert sender.post(address, form | {"own_premises": str(cave.owner.premises.pk)}).status_code == 302
    dispatch = Dispatch.objects.get()
    assert "not yet" in sender.get(reverse("stock:dispatch", args=[dispatch.pk])).content.decode()

    page = receiver.get(reverse("stock:list")).content.decode()
    arriving = reverse("stock:arriving", args=[dispatch.pk])
    assert arriving in page
    assert f"2 pieces from {dairy.owner.premises.name}" in page
    assert "checked" in receiver.get(arriving).content.decode()
    assert sender.get(arriving).status_code == 404
    body = {"request_id": str(uuid4()), "items": [str(second.pk)], "arrived_at": "", "note": "One is missing."}
    wrong = receiver.post(arriving, body)
    assert wrong.status_code == 422
    assert "One is missing." in wrong.content.decode()
    assert wrong.content.decode().count(" checked") == 1
    answer = receiver.post(arriving, body | {"arrived_at": "2026-03-11T07:45"}, follow=True)
    assert "1 of 2 pieces are in stock here now. 1 did not arrive" in answer.content.decode()
    listed = receiver.get(reverse("stock:arrivals")).content.decode()
    assert "1 of 2" in listed
    assert "One is missing." in listed
    assert receiver.get(arriving).status_code == 404
    assert "1 of 2 pieces" in sender.get(reverse("stock:dispatch", args=[dispatch.pk])).content.decode()


def test_a_device_accepts_what_is_arriving(dairy: Dairy, cave: Dairy, make: Make) -> None:
    first, second, _ = make.lot.items.all()
    body = {
        "id": str(uuid4()), "own_premises": str(cave.owner.premises.pk), "items": [str(first.pk), str(second.pk)],
        "document_number": "DN 1", "dispatched_at": "2026-03-11T07:00:00Z",
    }  # fmt: skip
    sender, receiver = Device(dairy.helper), Device(cave.helper)
    assert sender.get("dairy/").json()["own_premises"] == [{"id": str(cave.owner.premises.pk), "name": "Cave Store"}]
    assert sender.post("dispatches/", body, key="k").status_code == 201
    assert sender.get("arriving/").json()["results"] == []
    (one,) = receiver.get("arriving/").json()["results"]
    assert (one["item_count"], one["sent_kg"]) == (2, pytest.approx(6.1))
    came = {
        "id": str(uuid4()), "dispatch": one["id"], "items": one["items"][:1], "arrived_at": "2026-03-11T07:30:00Z",
    }  # fmt: skip
    refusal(sender.post("arrivals/", came), 400, "refused")
    told = receiver.post("arrivals/", came)
    assert told.status_code == 201
    assert [(lot["sent_pieces"], lot["pieces"]) for lot in told.json()["lots"]] == [(2, 1)]
    assert receiver.post("arrivals/", came).json() == told.json()
    refusal(receiver.post("arrivals/", came | {"id": str(uuid4())}), 409, "conflict")
    assert len(receiver.get("arrivals/").json()["results"]) == 1
    assert len(receiver.get("stock-items/").json()["results"]) == 1
