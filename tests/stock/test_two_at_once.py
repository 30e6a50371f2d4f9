"""Two people, one wheel, one instant: real threads against real transactions."""

import threading
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection

from batches.release import actions as release
from batches.release.gate import gate_of
from batches.release.models import Release
from batches.stock import actions as stock
from batches.stock.models import Dispatch, Item, ItemEvent
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from tests.dairy import HOUR, PASSWORD, open_dairy
from tests.release.ready import ready_batch, released

pytestmark = [
    pytest.mark.django_db(transaction=True),
    # SQLite has one writer, and in memory no second connection: there is nothing to race.
    pytest.mark.skipif(connection.vendor != "postgresql", reason="two transactions at once need PostgreSQL"),
]
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATER = MORNING + timedelta(days=1)
AT_ONCE = 6


def at_once(act: object) -> tuple[list[object], list[ActionError]]:
    """Runs act(n) in threads that start together: what they gave, and how they were refused."""
    gave: list[object] = []
    refused: list[ActionError] = []
    start = threading.Barrier(AT_ONCE)

    def run(n: int) -> None:
        start.wait()
        try:
            gave.append(act(n))  # type: ignore[operator]
        except ActionError as error:
            refused.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(AT_ONCE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return gave, refused


def test_of_many_who_release_and_dispatch_the_same_wheel_exactly_one_wins() -> None:
    dairy = open_dairy()
    make = ready_batch(dairy, at=MORNING)
    (wheel,) = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0", unit="kg",
        entered_at=LATER, now=LATER,
    )  # fmt: skip
    seen = gate_of(dairy.owner, make.lot, LATER).content_sha256
    gave, refused = at_once(
        lambda n: release.batch_release(
            scope=dairy.owner, release_id=uuid4(), lot_id=make.pk, password=PASSWORD, seen_sha256=seen, now=LATER
        )
    )
    assert (len(gave), len(refused)) == (1, AT_ONCE - 1)
    assert Release.objects.count() == 1

    customers = [
        stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name=f"Shop {n}", phone="1") for n in range(AT_ONCE)
    ]
    gave, refused = at_once(
        lambda n: stock.dispatch_record(
            scope=dairy.maker, dispatch_id=uuid4(), customer_id=customers[n].pk, item_ids=[wheel.pk],
            document_type="note", document_number=str(n), dispatched_at=LATER + HOUR, now=LATER + HOUR,
        )
    )  # fmt: skip
    assert (len(gave), len(refused)) == (1, AT_ONCE - 1)
    assert all("not in stock any more" in str(error) for error in refused)
    assert Dispatch.objects.get() == gave[0]
    assert ItemEvent.objects.filter(ends=True).count() == 1
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_of_many_who_accept_the_same_arrival_exactly_one_wins() -> None:
    dairy, cave = open_dairy(), open_dairy(name="Cave Store")
    Premises.objects.filter(pk=cave.owner.premises.pk).update(producer=dairy.owner.premises.producer)
    make = ready_batch(dairy, at=MORNING)
    (wheel,) = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0", unit="kg",
        entered_at=LATER, now=LATER,
    )  # fmt: skip
    released(dairy, make, now=LATER)
    sent = stock.dispatch_record(
        scope=dairy.maker, dispatch_id=uuid4(), own_premises_id=cave.owner.premises.pk, item_ids=[wheel.pk],
        document_type="note", document_number="1", dispatched_at=LATER, now=LATER,
    )  # fmt: skip
    gave, refused = at_once(
        lambda n: stock.arrival_accept(
            scope=cave.maker, arrival_id=uuid4(), dispatch_id=sent.pk, item_ids=[wheel.pk], arrived_at=LATER, now=LATER
        )
    )
    assert (len(gave), len(refused)) == (1, AT_ONCE - 1)
    assert all("Somebody else was first" in str(error) for error in refused)
    assert Item.objects.filter(lot__premises=cave.owner.premises).count() == 1
    assert verify_log(Log.objects.get(pk=cave.owner.log_id)).holds
