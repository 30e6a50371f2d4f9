"""From the sign to the letters: implicated lots, quantities, customers, what is held, the PDF, the exports."""

import json
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from uuid import uuid4

import jsonschema
import openpyxl
import pypdf
import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.making.models import Make
from batches.recall import actions as recalls
from batches.recall.export.epcis import epcis_document
from batches.recall.export.key_data import key_data
from batches.recall.export.spreadsheet import spreadsheet
from batches.recall.findings import findings
from batches.recall.models import Recall
from batches.recall.queries import next_due
from batches.stock import actions as stock
from batches.stock.models import Customer, Dispatch, Item
from batches.tracing import actions as tracing
from haccp.deviations import actions as deviations
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import HOUR, Dairy, open_dairy
from tests.deviations.test_completed import closed, led_through, reported
from tests.release.ready import ready_batch, released
from tests.web.pages import signed_in, stranger

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATER = MORNING + timedelta(days=1)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def sold(dairy: Dairy) -> tuple[Make, Customer, list[Item]]:
    """A batch of which one wheel went to a shop, one is in the room, one is open at the counter."""
    make = ready_batch(dairy, at=MORNING)
    items = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0\n3.1\n3.2", unit="kg",
        entered_at=LATER, place_id=dairy.room.pk, now=LATER,
    )  # fmt: skip
    released(dairy, make, now=LATER)
    shop = stock.customer_add(
        scope=dairy.maker, customer_id=uuid4(), name="=Corner Shop", contact="Ms Byrne", phone="+353 1 555 0100",
        address="1 Quay Street\nGalway",
    )  # fmt: skip
    stock.dispatch_record(
        scope=dairy.maker, dispatch_id=uuid4(), customer_id=shop.pk, item_ids=[items[0].pk],
        document_type="delivery note", document_number="DN 17", dispatched_at=LATER, now=LATER,
    )  # fmt: skip
    stock.counter_open(scope=dairy.maker, request_id=uuid4(), item_ids=[items[2].pk], opened_at=LATER, now=LATER)
    stock.counter_total(
        scope=dairy.maker, sale_id=uuid4(), lot_id=make.pk, day=LATER.date(), weight="1.2", unit="kg", now=LATER
    )
    return make, shop, items


def test_a_recall_from_the_milk_finds_every_kilogram_and_every_customer(dairy: Dairy) -> None:
    make, shop, _ = sold(dairy)
    tracing.by_product_record(
        scope=dairy.maker, lot_id=uuid4(), from_lot_id=make.pk, kind="whey", amount="150", unit="L", drawn_at=MORNING,
        now=LATER,
    )  # fmt: skip
    milk = make.lot.links_in.get().parent
    found = findings(dairy.owner.premises, milk, "forward")
    assert [one.lot.code for one in found.touched] == ["M260310-C1", "WT260310", "WT260310-W"]
    assert found.made_kg == pytest.approx(9.3)
    assert (found.dispatched_kg, found.sold_at_counter_kg) == (pytest.approx(3.0), pytest.approx(1.2))
    assert found.in_house_kg == pytest.approx(3.1 + 2.0)
    assert found.unexplained_kg == pytest.approx(0.0)
    assert found.accounted_percent == pytest.approx(100.0)
    (call,) = found.customers
    assert (call.customer, call.pieces, call.weight_kg) == (shop, 1, pytest.approx(3.0))
    assert found.not_held == (make.lot,)

    deviations.deviation_report(
        scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Heat treatment").control_point_id,
        summary="Listeria in the milk.", occurred_at=LATER, lot_ids=[milk.pk], now=LATER,
    )  # fmt: skip
    held = findings(dairy.owner.premises, milk, "forward")
    assert held.held_kg == pytest.approx(5.1)
    assert held.not_held == ()
    # From the batch: forward it has no milk; with what shares its milk it has the milk and all made of that.
    assert milk.code not in [one.lot.code for one in findings(dairy.owner.premises, make.lot, "forward").touched]
    assert milk.code in [one.lot.code for one in findings(dairy.owner.premises, make.lot, "siblings").touched]


def test_the_clock_runs_on_the_server_and_the_record_says_when_what_was_done(dairy: Dairy) -> None:
    make, shop, _ = sold(dairy)
    client = signed_in(dairy.helper)
    with time_machine.travel(LATER + HOUR, tick=False) as clock:
        form = {
            "request_id": str(uuid4()),
            "kind": "exercise",
            "reason": "Yearly exercise.",
            "repeat_after_days": "365",
        }
        for _ in range(2):
            assert client.post(reverse("recall:start"), form).status_code == 302
        recall = Recall.objects.get()
        page = reverse("recall:recall", args=[recall.pk])
        clock.shift(40)
        assert client.get(reverse("reports:recall_pdf", args=[recall.pk])).status_code == 404
        assert make.lot.code in client.get(f"{page}?q=WT").content.decode()
        answer = client.post(page, {"request_id": str(uuid4()), "reach": "forward"})
        assert (answer.status_code, "Choose the lot." in answer.content.decode()) == (422, True)
        choice = {"request_id": str(uuid4()), "lot": str(make.pk), "reach": "forward"}
        assert client.post(page, choice).status_code == 302
        text = " ".join(client.get(page).content.decode().split())
        assert "Ms Byrne" in text
        assert "+353 1 555 0100" in text
        clock.shift(100)
        client.post(reverse("recall:reached", args=[recall.pk, shop.pk]), {"note": "Two left, put aside."})
        clock.shift(60)
        end = {"request_id": str(uuid4()), "note": "Telephone number was at hand."}
        assert client.post(reverse("recall:finish", args=[recall.pk]), end | {"note": ""}).status_code == 422
        assert client.post(reverse("recall:finish", args=[recall.pk]), end).status_code == 302
        elapsed = [mark.elapsed.total_seconds() for mark in recall.marks.select_related("recall")]
        assert elapsed == [40.0, 140.0, 200.0]
        with pytest.raises(Conflict, match="finished"):
            recalls.recall_reach(scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), customer_id=shop.pk)
        assert recall.marks.get(kind="finished").figures["dispatched_kg"] == 3.0
        assert next_due(dairy.owner.premises) == date(2027, 3, 11)

        pdf = pypdf.PdfReader(BytesIO(client.get(reverse("reports:recall_pdf", args=[recall.pk])).content))
        list_page, letter = pdf.pages[0].extract_text(), pdf.pages[-1].extract_text()
        assert "WT260310" in list_page
        assert "Two left, put aside." in "".join(one.extract_text() for one in pdf.pages)
        assert "EXERCISE ONLY" in letter
        assert "DN 17" in letter
        assert "1 Quay Street" in letter
        trace = pypdf.PdfReader(BytesIO(client.get(reverse("reports:trace_pdf", args=[make.pk])).content))
        assert "M260310-C1" in "".join(one.extract_text() for one in trace.pages)
        outside = stranger()
        assert outside.get(page).status_code == 404
        assert outside.get(reverse("reports:recall_pdf", args=[recall.pk])).status_code == 404
        assert shop.name not in outside.get(reverse("stock:customers")).content.decode()
    # The next exercise stands on the first page from two weeks before it is due.
    with time_machine.travel(datetime(2027, 3, 1, 9, 0, tzinfo=UTC), tick=False):
        assert "Recall exercise" in signed_in(dairy.helper).get(reverse("checks:today")).content.decode()
    result = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert result.holds, result.problem


def test_a_recall_that_cannot_be_is_refused(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    recall = recalls.recall_start(scope=dairy.maker, recall_id=uuid4(), kind="real", reason="Complaint.", now=LATER)
    with pytest.raises(ActionError, match="Choose the lot first"):
        recalls.recall_finish(scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), note="x", now=LATER)
    other = open_dairy(name="Glen Dairy")
    with pytest.raises(ActionError, match="no such recall"):
        recalls.recall_choose(
            scope=other.maker, recall_id=recall.pk, mark_id=uuid4(), lot_id=make.pk, reach="forward", now=LATER
        )
    theirs = other.start_make(at=MORNING)
    with pytest.raises(ActionError, match="no such lot"):
        recalls.recall_choose(
            scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), lot_id=theirs.pk, reach="forward", now=LATER
        )
    with pytest.raises(ActionError) as refused:
        recalls.recall_start(scope=dairy.maker, recall_id=uuid4(), kind="", reason="", repeat_after_days=-1)
    assert set(refused.value.fields) == {"kind", "reason", "repeat_after_days"}


# 21 CFR 1.1340(a)(1)-(8), 1.1345(a)(1)-(8) and 1.1350(a)(1)(i)-(iii), (a)(2)(i)-(vi): numbering from memory.
ELEMENTS = {
    "Receiving": [f"({n})" for n in range(1, 9)],
    "Shipping": [f"({n})" for n in range(1, 9)],
    "Transformation": [f"(a)(1)({n})" for n in ("i", "ii", "iii")]
    + [f"(a)(2)({n})" for n in ("i", "ii", "iii", "iv", "v", "vi")],
}


def test_the_spreadsheet_has_every_key_data_element_and_runs_no_formula(dairy: Dairy) -> None:
    make, *_ = sold(dairy)
    sheets = key_data(dairy.owner.premises, MORNING.date(), LATER.date())
    book = openpyxl.load_workbook(BytesIO(spreadsheet(sheets)))
    assert set(book.sheetnames) == set(ELEMENTS)
    for name, elements in ELEMENTS.items():
        heads = [str(cell.value) for cell in book[name][1]]
        for element in elements:
            assert any(head.startswith(f"{element} ") for head in heads), (name, element)
        assert book[name].auto_filter.ref
        assert book[name].max_row == 2
    (shipped,) = book["Shipping"].iter_rows(min_row=2)
    values = [cell.value for cell in shipped]
    assert values[0] == make.lot.code
    assert values[1:3] == [3.0, "kg"]
    assert values[6] == datetime(2026, 3, 11)  # noqa: DTZ001  (a day, as a spreadsheet keeps it)
    recipient = shipped[4]
    assert str(recipient.value).startswith("=Corner Shop, 1 Quay Street")
    assert (recipient.data_type, recipient.quotePrefix) == ("s", True)
    assert not any(cell.data_type == "f" for page in book for row in page.iter_rows() for cell in row)


# GS1 EPCIS 2.0.1 (June 2022), the required fields of its published JSON Schema in our own words.
URI = {"type": "string", "pattern": r"^(https?://|urn:uuid:)\S+$"}
QUANTITIES = {
    "type": "array",
    "minItems": 1,
    "items": {
        "type": "object",
        "required": ["epcClass"],  # without a quantity where it is not known (7.3.3.3, from memory)
        "additionalProperties": False,
        "properties": {"epcClass": URI, "quantity": {"type": "number"}, "uom": {"pattern": "^[A-Z0-9]{2,3}$"}},
    },
}
EVENT = {
    "type": "object",
    "required": ["type", "eventTime", "eventTimeZoneOffset"],
    "properties": {
        "eventID": URI,
        "eventTime": {"pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"},
        "eventTimeZoneOffset": {"pattern": "^([+]|[-])((0[0-9]|1[0-3]):([0-5][0-9])|14:00)$"},
        "readPoint": {"required": ["id"], "properties": {"id": URI}},
        "bizLocation": {"required": ["id"], "properties": {"id": URI}},
        "quantityList": QUANTITIES,
        "inputQuantityList": QUANTITIES,
        "outputQuantityList": QUANTITIES,
        "bizTransactionList": {"items": {"required": ["bizTransaction"], "properties": {"bizTransaction": URI}}},
        "sourceList": {"items": {"required": ["type", "source"]}},
        "destinationList": {"items": {"required": ["type", "destination"]}},
        # Core Business Vocabulary 2.0 (June 2022), 7.1 and 7.2, of which these are used.
        "bizStep": {"enum": ["receiving", "commissioning", "shipping", "destroying"]},
        "disposition": {"enum": ["in_progress", "in_transit", "returned", "destroyed"]},
        "ilmd": False,
    },
    "oneOf": [
        {
            "properties": {"type": {"const": "ObjectEvent"}, "action": {"enum": ["OBSERVE", "ADD", "DELETE"]}},
            "required": ["action", "quantityList"],
        },
        {
            "properties": {"type": {"const": "TransformationEvent"}, "action": False},
            "required": ["inputQuantityList", "outputQuantityList"],
        },
    ],
}
DOCUMENT = {
    "type": "object",
    "required": ["@context", "type", "schemaVersion", "creationDate", "epcisBody"],
    "properties": {
        "type": {"const": "EPCISDocument"},
        "schemaVersion": {"const": "2.0"},
        "epcisBody": {"required": ["eventList"], "properties": {"eventList": {"items": EVENT}}},
    },
}


def test_epcis_events_have_the_fields_that_the_standard_requires(dairy: Dairy) -> None:
    make, *_ = sold(dairy)
    stock.trade_number_set(scope=dairy.owner, product_id=dairy.product.pk, gtin="9506000134352")
    made = epcis_document(
        dairy.owner.premises, MORNING.date(), LATER.date(), site="https://dairy.example", made_at=LATER
    )
    document = json.loads(json.dumps(made))
    jsonschema.validate(document, DOCUMENT)
    events = document["epcisBody"]["eventList"]
    assert [(one["type"], one["bizStep"]) for one in events] == [
        ("ObjectEvent", "receiving"), ("TransformationEvent", "commissioning"), ("ObjectEvent", "shipping"),
    ]  # fmt: skip
    cheese = f"https://dairy.example/id/01/09506000134352/10/{make.lot.code}"
    assert events[1]["outputQuantityList"] == [{"epcClass": cheese, "quantity": 9.3, "uom": "KGM"}]
    assert events[1]["inputQuantityList"][0] == events[0]["quantityList"][0]
    assert events[2]["quantityList"][0]["epcClass"] == cheese
    # Every field that is not the standard's is in a namespace that the context declares.
    prefixes = {key.split(":")[0] for one in events for key in one if ":" in key}
    assert prefixes == {"dairy"} == set(document["@context"][1])
    broken = json.loads(json.dumps(document))
    del broken["epcisBody"]["eventList"][0]["action"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, DOCUMENT)


def test_what_came_back_and_what_was_destroyed_are_events_and_rows_too(dairy: Dairy) -> None:
    make, _, _ = sold(dairy)
    dispatch = Dispatch.objects.get()
    back = stock.items_return(
        scope=dairy.maker, request_id=uuid4(), dispatch_id=dispatch.pk, note="Rind split.", returned_at=LATER + HOUR,
        item_ids=[event.item_id for event in dispatch.events.all()], now=LATER + HOUR,
    )  # fmt: skip
    deviation = reported(dairy, make, occurred_at=LATER, now=LATER + HOUR)
    led_through(dairy, deviation, "destroy", at=LATER + 2 * HOUR)
    closed(dairy, deviation, at=LATER + 2 * HOUR)
    deviations.lot_end_record(
        scope=dairy.maker, end_id=uuid4(), deviation_id=deviation.pk, lot_id=make.pk, note="To the renderer.",
        ended_at=LATER + 3 * HOUR, now=LATER + 3 * HOUR,
    )  # fmt: skip
    made = epcis_document(
        dairy.owner.premises, LATER.date(), LATER.date(), site="https://dairy.example", made_at=LATER + 4 * HOUR
    )
    document = json.loads(json.dumps(made))
    jsonschema.validate(document, DOCUMENT)
    shipped, returned, destroyed = document["epcisBody"]["eventList"]
    assert (returned["bizStep"], returned["disposition"]) == ("receiving", "returned")
    assert returned["quantityList"] == shipped["quantityList"]
    assert returned["sourceList"][0]["source"] == shipped["destinationList"][0]["destination"]
    assert (destroyed["action"], destroyed["bizStep"]) == ("DELETE", "destroying")
    assert destroyed["quantityList"][0]["epcClass"] == shipped["quantityList"][0]["epcClass"]
    received, _, _ = key_data(dairy.owner.premises, LATER.date(), LATER.date())
    (row,) = received.rows
    assert row[:3] == (make.lot.code, pytest.approx(sum(item.weight_kg for item in back)), "kg")
    assert str(row[4]).startswith("=Corner Shop")


def test_pages_of_the_trace_and_of_a_recall_cost_the_same_however_much_was_sent(dairy: Dairy) -> None:
    make, shop, _ = sold(dairy)
    client = signed_in(dairy.helper)
    recall = recalls.recall_start(scope=dairy.maker, recall_id=uuid4(), kind="exercise", reason="Try.", now=LATER)
    recalls.recall_choose(
        scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), lot_id=make.pk, reach="siblings", now=LATER
    )
    pages = [
        reverse("recall:list"), reverse("recall:recall", args=[recall.pk]), reverse("tracing:trace", args=[make.pk]),
        reverse("tracing:find"), reverse("recall:key_data"), reverse("recall:epcis"),
    ]  # fmt: skip

    def counted() -> dict[str, int]:
        found = {}
        for page in pages:
            with CaptureQueriesContext(connection) as queries:
                answer = client.get(page)
                assert answer.status_code == 200
            found[page] = len(queries)
        return found

    with time_machine.travel(LATER + HOUR, tick=False):
        one = counted()
        more = stock.items_add(
            scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="10 × 3.0", unit="kg",
            entered_at=LATER, now=LATER,
        )  # fmt: skip
        for item in more[:5]:
            stock.dispatch_record(
                scope=dairy.maker, dispatch_id=uuid4(), customer_id=shop.pk, item_ids=[item.pk], document_type="note",
                document_number="2", dispatched_at=LATER, now=LATER,
            )  # fmt: skip
        assert counted() == one
        page = client.get(pages[2]).content.decode()
        assert "One step back" in page
        assert "<svg" in page
