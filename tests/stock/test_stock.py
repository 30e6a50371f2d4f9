"""Wheels, cuts and packs: into stock, cut, weighed, dispatched, sold; and what may not be."""

from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from uuid import UUID, uuid4

import pypdf
import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.making.models import Make
from batches.recall.findings import findings
from batches.stock import actions as stock
from batches.stock.models import Customer, Dispatch, Item, ItemEvent
from batches.stock.queries import counter_left_kg, items_of, stock_by_lot
from batches.stock.weights import read_weights
from batches.tracing.amounts import balances
from batches.tracing.graph import sent_of
from haccp.checks.actions import event_record
from haccp.deviations import actions as deviations
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.queries import in_place_between
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from tests.dairy import HOUR, Dairy, open_dairy
from tests.release.ready import ready_batch, released
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATER = MORNING + timedelta(days=1)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def wheels(dairy: Dairy, make: Make, weights: str, *, at: datetime = LATER) -> list[Item]:
    return stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights=weights, unit="kg",
        entered_at=at, place_id=dairy.room.pk, best_before=date(2026, 6, 1), now=at,
    )  # fmt: skip


def a_customer(dairy: Dairy) -> Customer:
    return stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="The Corner Shop", phone="+353 1 555 0100")


def send(dairy: Dairy, customer: Customer, *items: Item, dispatch_id: UUID | None = None) -> Dispatch:
    return stock.dispatch_record(
        scope=dairy.maker, dispatch_id=dispatch_id or uuid4(), customer_id=customer.pk,
        item_ids=[item.pk for item in items], document_type="delivery note", document_number="DN 17",
        dispatched_at=LATER + HOUR, now=LATER + HOUR,
    )  # fmt: skip


def now_kg(dairy: Dairy, item: Item) -> float:
    return items_of(dairy.owner.premises).get(pk=item.pk).now_kg


def report(dairy: Dairy, make: Make, *, at: datetime) -> None:
    """A deviation of a critical control point that names the batch: it is held at once."""
    deviations.deviation_report(
        scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Heat treatment").control_point_id,
        summary="The recorder was found high.", occurred_at=at, lot_ids=[make.pk], now=at,
    )  # fmt: skip


def test_weights_are_read_one_to_a_line_or_many_alike() -> None:
    assert [one.kg for one in read_weights("3.2\n2 × 0,5\n1.1 1.2", "kg")] == [3.2, 0.5, 0.5, 1.1, 1.2]
    # 1 lb = 0.45359237 kg exactly: NIST SP 811 (2008), appendix B.8.
    assert read_weights("7", "lb")[0].kg == pytest.approx(3.17514659)
    for text in ("", "much", "0", "501 x 1"):
        with pytest.raises(ActionError):
            read_weights(text, "kg")


def test_a_released_wheel_is_cut_weighed_sampled_and_leaves_once(dairy: Dairy) -> None:
    make = ready_batch(dairy, at=MORNING)
    first, second, third = wheels(dairy, make, "3.0\n3.2\n3.1")
    customer = a_customer(dairy)
    with pytest.raises(ActionError, match=f"{make.lot.code} is not released"):
        send(dairy, customer, first)
    released(dairy, make, now=LATER)

    by_maker = {"scope": dairy.maker, "occurred_at": LATER + HOUR, "now": LATER + HOUR}
    stock.item_event(event_id=uuid4(), item_id=first.pk, kind="weighed", weight="2.8", **by_maker)
    with pytest.raises(ActionError, match=r"weighs only 2.800"):
        stock.item_event(event_id=uuid4(), item_id=first.pk, kind="sample", weight="2.9", **by_maker)
    later = by_maker | {"occurred_at": LATER + HOUR + timedelta(minutes=1)}
    stock.item_event(event_id=uuid4(), item_id=first.pk, kind="sample", weight="300", unit="g", **later)
    assert now_kg(dairy, first) == pytest.approx(2.5)

    cut = {"scope": dairy.maker, "item_id": second.pk, "kind": "pack", "unit": "kg", "cut_at": LATER, "now": LATER}
    with pytest.raises(ActionError, match=r"weigh 3.300\D+kg together"):
        stock.item_cut(request_id=uuid4(), weights="11 × 0.3", **cut)
    request_id = uuid4()
    packs = stock.item_cut(request_id=request_id, weights="10 × 0.3", **cut)
    assert [pack.pk for pack in stock.item_cut(request_id=request_id, weights="10 × 0.3", **cut)] == [
        pack.pk for pack in packs
    ]
    with pytest.raises(Conflict, match="not in stock any more"):
        send(dairy, customer, second)

    dispatch_id = uuid4()
    sent = send(dairy, customer, first, packs[0], dispatch_id=dispatch_id)
    assert send(dairy, customer, first, packs[0], dispatch_id=dispatch_id) == sent
    assert sum(line.weight_kg for line in sent.events.all()) == pytest.approx(2.8)
    with pytest.raises(Conflict, match="Somebody else was first"):
        send(dairy, customer, first)
    with pytest.raises(ActionError, match="Say why it was lost"):
        stock.item_event(event_id=uuid4(), item_id=third.pk, kind="loss", whole=True, **by_maker)

    stock.counter_open(
        scope=dairy.maker, request_id=uuid4(), item_ids=[third.pk], opened_at=LATER + HOUR, now=LATER + HOUR
    )
    total = {"scope": dairy.maker, "lot_id": make.pk, "unit": "kg", "now": LATER + HOUR}
    with pytest.raises(ActionError, match=r"Only 3.100"):
        stock.counter_total(sale_id=uuid4(), day=LATER.date(), weight="3.2", **total)
    stock.counter_total(sale_id=uuid4(), day=LATER.date(), weight="1.1", **total)
    assert counter_left_kg([make.pk])[make.pk] == pytest.approx(2.0)
    (here,) = stock_by_lot(dairy.owner.premises)
    assert (here.count, here.may_leave, here.best_before) == (9, True, date(2026, 6, 1))
    assert here.weight_kg == pytest.approx(2.7)
    result = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert result.holds, result.problem
    with pytest.raises(DatabaseError, match="sealed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM stock_itemevent")


def test_what_comes_back_is_in_stock_again_and_is_counted_once(dairy: Dairy) -> None:
    make = ready_batch(dairy, at=MORNING)
    first, second, _ = wheels(dairy, make, "3.0\n3.2\n3.1")
    released(dairy, make, now=LATER)
    sent = send(dairy, a_customer(dairy), first, second)
    back = {
        "scope": dairy.maker, "dispatch_id": sent.pk, "item_ids": [first.pk], "note": "Delivered to the wrong door.",
        "returned_at": LATER + 2 * HOUR, "now": LATER + 2 * HOUR,
    }  # fmt: skip
    with pytest.raises(ActionError, match="Say why it came back"):
        stock.items_return(request_id=uuid4(), **back | {"note": " "})
    with pytest.raises(ActionError, match="before dispatch 1 left"):
        stock.items_return(request_id=uuid4(), **back | {"returned_at": LATER})
    with pytest.raises(ActionError, match="did not leave with dispatch 1"):
        stock.items_return(request_id=uuid4(), **back | {"item_ids": [first.pk, uuid4()]})
    request_id = uuid4()
    (again,) = stock.items_return(request_id=request_id, **back)
    assert stock.items_return(request_id=request_id, **back) == [again]
    with pytest.raises(Conflict, match="back already"):
        stock.items_return(request_id=uuid4(), **back)

    assert (again.number, again.parent, now_kg(dairy, again)) == (4, first, 3.0)
    premises = dairy.owner.premises
    balance = balances(premises, [make.lot])[make.pk]
    # 9.3 kg came into stock once: 6.2 kg left, 3.0 kg of it came back, 6.1 kg lie here.
    assert balance.there == pytest.approx(9.3)
    assert {one.label: round(one.amount, 3) for one in balance.outlets} == {
        "dispatched": 6.2, "came back": -3.0, "in stock": 6.1
    }  # fmt: skip
    assert balance.unexplained == pytest.approx(0)
    (told,) = sent_of([make.lot])
    assert (told.pieces, told.pieces_back, told.back_kg) == (2, 1, 3.0)
    (touched,) = findings(premises, make.lot, "forward").touched
    assert (touched.dispatched_kg, touched.in_house_kg) == (pytest.approx(3.2), pytest.approx(6.1))
    # It may be sold again, and leaves once.
    client = signed_in(dairy.maker)
    page = client.get(reverse("stock:dispatch_back", args=[sent.pk])).content.decode()
    assert f"{second}" in page
    assert f"<strong>{first}</strong>" not in page
    answer = client.post(reverse("stock:dispatch_back", args=[sent.pk]), {"request_id": uuid4(), "note": "Mouldy."})
    assert answer.status_code == 422
    assert "Choose at least one piece." in answer.content.decode()
    assert "Mouldy." in answer.content.decode()
    assert "Left before as" in client.get(reverse("stock:item", args=[again.pk])).content.decode()
    result = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert result.holds, result.problem


def test_what_is_on_hold_leaves_by_no_way(dairy: Dairy) -> None:
    make = ready_batch(dairy, at=MORNING)
    wheel, other = wheels(dairy, make, "3.0\n3.0")
    customer = a_customer(dairy)
    released(dairy, make, now=LATER)
    stock.counter_open(scope=dairy.maker, request_id=uuid4(), item_ids=[other.pk], opened_at=LATER, now=LATER)
    report(dairy, make, at=LATER)

    with pytest.raises(ActionError, match="is on hold: D2026-001: The recorder"):
        send(dairy, customer, wheel)
    with pytest.raises(ActionError, match="is on hold"):
        stock.counter_open(scope=dairy.maker, request_id=uuid4(), item_ids=[wheel.pk], opened_at=LATER, now=LATER)
    with pytest.raises(ActionError, match="Take it off the counter"):
        stock.counter_total(
            scope=dairy.maker, sale_id=uuid4(), lot_id=make.pk, day=LATER.date(), weight="1", unit="kg", now=LATER
        )
    with pytest.raises(ActionError, match=r"may not leave\. To keep it apart, place it in another room"):
        event_record(
            scope=dairy.maker, lot_id=make.pk, kind="left_room", occurred_at=LATER, event_id=uuid4(), now=LATER
        )
    # Posted by hand, through the page that does not offer it; and through the API.
    with time_machine.travel(LATER + HOUR, tick=False):
        form = {
            "request_id": str(uuid4()), "customer": str(customer.pk), "items": [str(wheel.pk)],
            "document_type": "note", "document_number": "DN 18", "dispatched_at": "2026-03-11T06:30",
        }  # fmt: skip
        client = signed_in(dairy.maker)
        page = client.get(reverse("stock:dispatch_new")).content.decode()
        assert str(wheel.pk) not in page
        answer = client.post(reverse("stock:dispatch_new"), form)
        assert answer.status_code == 422
        assert "is on hold: D2026-001" in answer.content.decode()
        assert "DN 18" in answer.content.decode()
        body = {
            "id": str(uuid4()), "customer": str(customer.pk), "items": [str(wheel.pk)], "document_number": "DN 18",
            "dispatched_at": "2026-03-11T06:30:00Z",
        }  # fmt: skip
        answer = client.post("/api/v1/dispatches/", body, content_type="application/json")
        assert answer.status_code == 400
        assert "is on hold" in str(answer.json())
    assert not Dispatch.objects.exists()
    # Apart from the others, sampled or destroyed it may be.
    stock.items_move(
        scope=dairy.maker, request_id=uuid4(), item_ids=[wheel.pk], place_id=dairy.vat.pk, moved_at=LATER, now=LATER
    )
    stock.item_event(
        scope=dairy.maker, event_id=uuid4(), item_id=wheel.pk, kind="loss", whole=True, note="Buried with lime.",
        occurred_at=LATER, now=LATER,
    )  # fmt: skip
    assert ItemEvent.objects.get(kind="loss").weight_kg == 3.0


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"name": ""}, "name"), ({"phone": "", "email": ""}, "phone"), ({"gln": "6291041500214"}, "gln")],
)
def test_a_customer_who_could_not_be_reached_is_refused(dairy: Dairy, changes: dict[str, str], field: str) -> None:
    typed = {"name": "Shop", "phone": "1", "email": ""} | changes
    with pytest.raises(ActionError) as refused:
        stock.customer_add(scope=dairy.maker, customer_id=uuid4(), **typed)
    assert field in refused.value.fields


def test_a_label_holds_its_code_and_the_hold_and_scanned_opens_its_page_here_alone(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    # GTIN and GLN of the GS1 General Specifications' own examples.
    stock.trade_number_set(scope=dairy.owner, product_id=dairy.product.pk, gtin="9506000134352")
    stock.party_number_set(scope=dairy.owner, gln="9506000134352", company_prefix="9506000")
    report(dairy, make, at=LATER)
    with time_machine.travel(LATER, tick=False):
        client = signed_in(dairy.helper)
        text = _text(client, reverse("stock:batch_label", args=[make.pk]))
        assert f"(01)09506000134352(10){make.lot.code}" in text.replace("\n", "")
        assert "ON HOLD" in text
        assert "Contains milk." in text

        targets = {
            f"/id/01/09506000134352/10/{make.lot.code}": reverse("making:batch", args=[make.pk]),
            f"/id/414/9506000134352/254/{dairy.room.pk.hex[:12]}": reverse("ripening:room", args=[dairy.room.pk]),
            f"/id/8004/9506000{dairy.thermometer.pk.hex[:12]}": reverse("stock:labels"),
            f"/id/batch/{make.pk}": reverse("making:batch", args=[make.pk]),
        }
        stranger = signed_in(open_dairy(name="Glen Dairy").owner)
        for address, page in targets.items():
            assert client.get(address)["Location"] == page
            assert stranger.get(address).status_code == 404
            assert Client().get(address)["Location"].startswith(reverse("premises:sign_in"))
        for wrong in ("/id/01/09506000134353/10/X", "/id/01/09506000134352/10/other", "/id/batch/7", "/id/x"):
            assert client.get(wrong).status_code == 404


def _text(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(answer.content)).pages)


def test_pages_of_stock_cost_the_same_for_one_piece_and_for_many(dairy: Dairy) -> None:
    make = ready_batch(dairy, at=MORNING)
    released(dairy, make, now=LATER)
    send(dairy, a_customer(dairy), *wheels(dairy, make, "3.0\n3.1")[:1])
    client = signed_in(dairy.helper)

    def counted(address: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address).status_code == 200
        return len(queries)

    addresses = [
        reverse("stock:list"), reverse("stock:batch", args=[make.pk]), reverse("stock:dispatch_new"),
        reverse("stock:dispatches"), reverse("stock:dispatch", args=[Dispatch.objects.get().pk]),
        reverse("stock:customers"), reverse("stock:labels"), reverse("stock:counter"),
        reverse("stock:item", args=[Item.objects.all()[0].pk]),
    ]  # fmt: skip
    with time_machine.travel(LATER + HOUR, tick=False):
        one = {address: counted(address) for address in addresses}
        wheels(dairy, make, "20 × 3.0")
        assert {address: counted(address) for address in addresses} == one


def test_a_refused_form_keeps_what_was_typed(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    with time_machine.travel(LATER, tick=False):
        form = {
            "request_id": str(uuid4()), "kind": "wheel", "weights": "3.0\nheavy", "unit": "kg",
            "entered_at": "2026-03-11T05:00", "best_before": "2026-06-01",
        }  # fmt: skip
        answer = signed_in(dairy.helper).post(reverse("stock:add", args=[make.pk]), form)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "heavy" in page
    assert form["request_id"] in page
    assert "2026-06-01" in page


def test_a_piece_keeps_its_lot_in_the_place_where_it_lies(dairy: Dairy) -> None:
    """A cold store that was too warm has touched the cheese in it, though its batch left the ripening room long ago."""
    make = ready_batch(dairy, at=MORNING)
    store = premises.place_add(scope=dairy.owner, name="Cold store", kind="cold_store")
    (wheel,) = wheels(dairy, make, "3.0")
    released(dairy, make, now=LATER)
    moved = LATER + 2 * HOUR
    stock.items_move(
        scope=dairy.maker, request_id=uuid4(), item_ids=[wheel.pk], place_id=store.pk, moved_at=moved, now=moved
    )

    def lots_in(place: Place, start: datetime | None, end: datetime) -> set[UUID]:
        return {lot.pk for lot in in_place_between(place, start, end)}

    assert make.pk not in lots_in(store, None, moved - HOUR)
    assert make.pk in lots_in(store, None, moved)
    assert make.pk in lots_in(store, moved + HOUR, moved + 2 * HOUR)
    assert make.pk in lots_in(dairy.room, LATER, moved)
