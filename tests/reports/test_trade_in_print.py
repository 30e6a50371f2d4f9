"""What was released and where it went stands in the day book, in what a signature of the day holds, and in packs."""

import json
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from batches.recall import actions as recalls
from batches.stock import actions as stock
from haccp.checks.daybook import day_book
from haccp.premises.models import Premises
from haccp.reports.gather.choice import Choice
from tests.dairy import HOUR, Dairy
from tests.release.ready import ready_batch, released
from tests.reports import reading
from tests.reports.conftest import MakePack

MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATER = MORNING + timedelta(days=1)
DAY = date(2026, 3, 11)


@pytest.fixture(autouse=True)
def _cheap_passwords(settings: pytest.MonkeyPatch) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # type: ignore[attr-defined]


def sell(dairy: Dairy) -> str:
    """Two wheels to a shop, one comes back, one is opened at the counter; a recall is tried. The batch's code."""
    make = ready_batch(dairy, at=MORNING)
    released(dairy, make, now=LATER)
    by_maker = {"scope": dairy.maker, "now": LATER + HOUR}
    first, second, third = stock.items_add(
        request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0\n3.2\n3.1", unit="kg", entered_at=LATER,
        **by_maker,
    )  # fmt: skip
    shop = stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="The Corner Shop", phone="555 0100")
    sent = stock.dispatch_record(
        dispatch_id=uuid4(), customer_id=shop.pk, item_ids=[first.pk, second.pk], document_type="delivery note",
        document_number="DN 17", dispatched_at=LATER + HOUR, **by_maker,
    )  # fmt: skip
    stock.items_return(
        request_id=uuid4(), dispatch_id=sent.pk, item_ids=[first.pk], returned_at=LATER + HOUR, note="Wrong door.",
        **by_maker,
    )  # fmt: skip
    stock.counter_open(request_id=uuid4(), item_ids=[third.pk], opened_at=LATER + HOUR, **by_maker)
    stock.counter_total(sale_id=uuid4(), lot_id=make.pk, day=DAY, weight="1.4", unit="kg", **by_maker)
    recall = recalls.recall_start(recall_id=uuid4(), kind="exercise", reason="Yearly.", **by_maker)
    recalls.recall_choose(recall_id=recall.pk, mark_id=uuid4(), lot_id=make.pk, reach="forward", **by_maker)
    recalls.recall_finish(
        scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), note="Went well.", now=LATER + 2 * HOUR
    )
    return make.lot.code


def test_a_day_book_holds_what_was_released_and_sold_that_day(dairy: Dairy) -> None:
    premises: Premises = dairy.owner.premises
    before = day_book(premises, DAY).content_sha256
    code = sell(dairy)
    book = day_book(premises, DAY)
    lines = {
        (section.title, line["reference"], line["what"], line["text"])
        for section in book.sections
        for line in section.lines
    }
    assert {
        ("Released", code, "released", "Weir Tomme, by Orla Owner"),
        ("Into stock, dispatched, sold", code, "into stock", "3 × wheel, 9.300 kg"),
        (
            "Into stock, dispatched, sold", "The Corner Shop", "dispatch 1",
            f"2 pieces of {code}, 6.200 kg, delivery note DN 17",
        ),
        (
            "Into stock, dispatched, sold", f"{code}/4", "came back",
            "3.000 kg. from The Corner Shop (dispatch 1): Wrong door.",
        ),
        ("Into stock, dispatched, sold", code, "over the counter", "1.4 kg in all"),
        ("Recalls", "exercise", "begun", "Yearly."),
        ("Recalls", "exercise", "finished", "Went well."),
    } <= {(a, b, c, str(d).replace("\u202f", " ").replace("\xa0", " ")) for a, b, c, d in lines}  # fmt: skip
    # A signature of the day binds to it.
    assert book.content_sha256 != before
    assert not any(section.lines for section in day_book(premises, DAY + timedelta(days=1)).sections)


def test_a_pack_holds_releases_dispatches_and_recalls_with_their_entries(dairy: Dairy, make_pack: MakePack) -> None:
    code = sell(dairy)
    pack = make_pack(dairy.owner, first=DAY, last=DAY, now=LATER + timedelta(days=1))
    # A dispatch, a total, a piece that came back; an exercise, begun, chosen and finished. The release stands at its
    # batch.
    assert pack.contents["releases, dispatches and sales"] == 7
    text = reading.squeezed(pack)
    for said in (
        "Releases,dispatchesandsales", "TheCornerShop", f"2of{code},6.200kg.deliverynoteDN17", "Wrongdoor.",
        "1.4kg,thetotalof11Mar", "exercise:finished", "1lot;9.300kgmade,3.200kgdispatched", "0.000kgunexplained",
    ):  # fmt: skip
        assert said in text, said
    (attached,) = reading.reader(pack).attachments["records.json"]
    entries = json.loads(attached)["entries"]
    subjects = {entry["subject"].partition(":")[0] for entry in entries}
    assert {"release", "dispatch", "item_event", "counter_sale", "recall", "recall_mark"} <= subjects

    of_point = make_pack(dairy.owner, first=DAY, last=DAY, now=LATER + timedelta(days=1), choice=Choice(point="CCP 3"))
    assert "TheCornerShop" not in reading.squeezed(of_point)
