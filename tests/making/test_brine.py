"""A brine is a lot: made up, refreshed, used by many batches, discarded; what is found in it is found for each."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.intake.stock import left_si
from batches.laboratory import actions as laboratory
from batches.laboratory.actions import TestAsked as Asked
from batches.making import actions
from batches.making.models import Brine, BrineUse, Make
from batches.recall.findings import findings
from batches.tracing.amounts import balances, yield_of
from batches.tracing.graph import company_of, trace_of
from haccp.deviations.implication import implicated
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.closure import ancestors
from haccp.lots.models import Hold
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
# Regulation (EC) 2073/2005, annex I, row 1.2, before leaving the maker
LISTERIA = Asked(kind="absence", parameter="Listeria monocytogenes", n=5, absent_in="25 g")


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


@pytest.fixture
def tank(dairy: Dairy) -> Place:
    return premises.place_add(scope=dairy.owner, name="Brine tank", kind="brine_tank", at=NOW - 30 * DAY)


def make_up(dairy: Dairy, tank: Place, **more: object) -> Brine:
    salt = dairy.receive_ingredient(at=NOW - 10 * DAY, kind="salt", amount="50", amount_unit="kg")
    arguments: dict[str, object] = {
        "scope": dairy.maker, "lot_id": uuid4(), "tank_id": tank.pk, "water": "own well", "volume": "150",
        "volume_unit": "L", "salt_id": salt.pk, "salt": "30", "salt_unit": "kg", "made_at": NOW - 9 * DAY,
    }  # fmt: skip
    return actions.brine_make_up(**(arguments | more))  # type: ignore[arg-type]


def lay_in(dairy: Dairy, brine: Brine, make: Make, *, at: datetime, use_id: UUID | None = None) -> BrineUse:
    return actions.batch_lay_in_brine(
        scope=dairy.maker, use_id=use_id or uuid4(), brine_id=brine.pk, make_id=make.pk, laid_in_at=at
    )


def held(*lot_ids: UUID) -> set[UUID]:
    return set(Hold.objects.standing().filter(lot__in=lot_ids).values_list("lot_id", flat=True))


def test_a_brine_is_made_up_refreshed_used_and_discarded(dairy: Dairy, tank: Place) -> None:
    with pytest.raises(ActionError, match=r"Only 50.0\D+kg of"):
        make_up(dairy, tank, salt="60")
    with pytest.raises(ActionError, match="entries need correcting") as wrong:
        make_up(dairy, tank, volume="", salt="much")
    assert set(wrong.value.fields) == {"volume", "salt"}
    assert not Brine.objects.exists()

    lot_id = uuid4()
    brine = make_up(dairy, tank, lot_id=lot_id)
    assert make_up(dairy, tank, lot_id=lot_id) == brine
    assert brine.lot.code == "BR260311"
    with pytest.raises(Conflict, match="BR260311 stands in Brine tank"):
        make_up(dairy, tank)
    (salt,) = [link.parent.ingredient for link in brine.lot.links_in.all()]
    assert left_si(salt) == pytest.approx(20)
    actions.brine_refresh(
        scope=dairy.maker, change_id=uuid4(), brine_id=brine.pk, refreshed_at=NOW - 5 * DAY, volume="10",
        salt_id=salt.pk, salt="2",
    )  # fmt: skip
    assert left_si(salt) == pytest.approx(18)
    with pytest.raises(ActionError, match="Say what was added"):
        actions.brine_refresh(scope=dairy.maker, change_id=uuid4(), brine_id=brine.pk, refreshed_at=NOW - DAY)

    make = dairy.start_make(at=NOW - 4 * DAY)
    use_id = uuid4()
    use = lay_in(dairy, brine, make, at=NOW - 3 * DAY, use_id=use_id)
    assert lay_in(dairy, brine, make, at=NOW - 3 * DAY, use_id=use_id) == use
    with pytest.raises(Conflict, match="already"):
        lay_in(dairy, brine, make, at=NOW - 2 * DAY)
    salted = make.lot.events.get(kind="salted")
    assert (salted.place, salted.note) == (tank, "in brine BR260311")
    # The milk, the brine, and the salt that went into the brine.
    assert {brine.pk, salt.pk} < ancestors([make.pk])

    poured = {"scope": dairy.maker, "brine_id": brine.pk, "reason": "Cloudy; to the slurry pit."}
    with pytest.raises(ActionError, match="was laid in it after that"):
        actions.brine_discard(change_id=uuid4(), discarded_at=NOW - 4 * DAY, **poured)
    actions.brine_discard(change_id=uuid4(), discarded_at=NOW - DAY, **poured)
    with pytest.raises(Conflict, match="discarded already"):
        lay_in(dairy, brine, dairy.start_make(at=NOW - HOUR), at=NOW)
    assert make_up(dairy, tank, made_at=NOW - HOUR).lot.code == "BR260320"

    result = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert result.holds, result.problem
    for table in ("making_brine", "making_brinechange", "making_brineuse"):
        with pytest.raises(DatabaseError, match="sealed"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {table}")


def test_a_brine_is_not_used_up_by_what_lies_in_it(dairy: Dairy, tank: Place) -> None:
    brine = make_up(dairy, tank)
    first, second = dairy.start_make(at=NOW - 6 * DAY), dairy.start_make(at=NOW - 4 * DAY)
    before = yield_of(first.lot).into_kg
    for make in (first, second):
        lay_in(dairy, brine, make, at=make.lot.begun_at + DAY)
    balance = balances(dairy.owner.premises, [brine.lot])[brine.pk]
    assert (balance.there, balance.unit, balance.unexplained) == (150, "L", 0)
    assert [(one.label, one.amount) for one in balance.outlets] == [("in use", 150)]
    assert yield_of(first.lot).into_kg == before
    trace = trace_of(dairy.owner.premises, brine.lot)
    assert {one.pk for one in trace.descendants} == {first.pk, second.pk}
    assert first.pk in {one.lot.pk for one in findings(dairy.owner.premises, brine.lot, "forward").touched}


@pytest.mark.parametrize("of", ["lot", "tank"])
def test_listeria_in_a_brine_holds_it_and_both_cheeses_that_lay_in_it(dairy: Dairy, tank: Place, of: str) -> None:
    brine = make_up(dairy, tank)
    first, second = dairy.start_make(at=NOW - 6 * DAY), dairy.start_make(at=NOW - 4 * DAY)
    apart = dairy.start_make(at=NOW - 3 * DAY)
    for make in (first, second):
        lay_in(dairy, brine, make, at=make.lot.begun_at + DAY)
        dairy.event(make, "placed_in_room", at=make.lot.begun_at + 2 * DAY, place=dairy.room)
    about = {"lot_id": brine.pk} if of == "lot" else {"place_id": tank.pk}
    sample = laboratory.sample_take(
        scope=dairy.maker, sample_id=uuid4(), laboratory="County laboratory", tests=[LISTERIA], taken_at=NOW - DAY,
        **about,
    )  # fmt: skip
    laboratory.result_enter(
        scope=dairy.maker, result_id=uuid4(), test_id=sample.tests.get().pk,
        values=["not detected", "detected", *["not detected"] * 3], reported_at=NOW - HOUR,
    )  # fmt: skip
    implied = {one.lot_id for one in Deviation.objects.get().implicated.all()}
    assert implied == {brine.pk, first.pk, second.pk}
    # A swab of equipment holds nothing unless it verifies a critical point; a finding in the brine does.
    if of == "lot":
        assert held(brine.pk, first.pk, second.pk, apart.pk) == {brine.pk, first.pk, second.pk}
        with pytest.raises(ActionError, match="is on hold and cannot be used"):
            lay_in(dairy, brine, apart, at=NOW - HOUR)


def test_a_tank_is_shared_as_a_vat_is_and_a_breach_there_reaches_what_was_in_it_then(dairy: Dairy, tank: Place) -> None:
    brine = make_up(dairy, tank)
    early, late, with_late = (dairy.start_make(at=NOW - back * DAY) for back in (8, 4, 3))
    lay_in(dairy, brine, early, at=NOW - 7 * DAY)
    dairy.event(early, "placed_in_room", at=NOW - 6 * DAY, place=dairy.room)
    lay_in(dairy, brine, late, at=NOW - 2 * DAY)
    lay_in(dairy, brine, with_late, at=NOW - 2 * DAY + HOUR)
    shared = {one.place.pk: {lot.pk for lot in one.lots} for one in company_of(late.lot)}
    assert shared[tank.pk] == {with_late.pk}

    check = dairy.check("Vat 1 cleaned")
    check.place, check.name = tank, "Strength of the brine"
    found = implicated(dairy.owner.premises, check, None, NOW - DAY, NOW)
    assert {one.lot.pk for one in found.lots} == {brine.pk, early.pk, late.pk, with_late.pk}
    assert "was in Brine tank and Strength of the brine was never met before" in {one.why for one in found.lots}


def test_the_pages_of_a_brine(dairy: Dairy, tank: Place) -> None:
    client = signed_in(dairy.maker)
    assert "No brine has been made up yet" in client.get(reverse("making:brines")).content.decode()
    salt = dairy.receive_ingredient(at=NOW - 10 * DAY, kind="salt", amount="50", amount_unit="kg")
    typed = {
        "request_id": str(uuid4()), "tank": str(tank.pk), "water": "own well", "volume": "150", "volume_unit": "L",
        "salt_lot": str(salt.pk), "salt": "90", "salt_unit": "kg", "at": "2026-03-19T08:00", "note": "",
    }  # fmt: skip
    refused = client.post(reverse("making:brine_new"), typed)
    assert refused.status_code == 422
    assert "own well" in refused.content.decode()
    assert client.post(reverse("making:brine_new"), typed | {"salt": "30"}).status_code == 302
    brine = Brine.objects.get()
    page = reverse("making:brine", args=[brine.pk])
    make = dairy.start_make(at=NOW - DAY)
    assert make.lot.code in client.get(page).content.decode()
    laid = {"request_id": str(uuid4()), "make": str(make.pk), "at": "2026-03-20T10:00"}
    assert client.post(reverse("making:brine_lay_in", args=[brine.pk]), laid).status_code == 302
    assert BrineUse.objects.get().make == make
    refreshed = {"request_id": str(uuid4()), "note": "Skimmed and boiled.", "at": "2026-03-20T11:00"}
    assert client.post(reverse("making:brine_refresh", args=[brine.pk]), refreshed).status_code == 302
    with CaptureQueriesContext(connection) as one:
        assert "Skimmed and boiled." in client.get(page).content.decode()
    for n in range(3):
        lay_in(dairy, brine, dairy.start_make(at=NOW - (n + 2) * HOUR), at=NOW - HOUR)
    with CaptureQueriesContext(connection) as many:
        client.get(page)
    assert len(many) == len(one)
    gone = {"request_id": str(uuid4()), "reason": "", "at": "2026-03-20T11:30"}
    refused = client.post(reverse("making:brine_discard", args=[brine.pk]), gone)
    assert "Say why it is discarded" in refused.content.decode()
    assert "A batch goes in" not in reader(dairy).get(page).content.decode()


def test_the_make_sheet_offers_the_brine_where_it_salts(dairy: Dairy, tank: Place) -> None:
    dairy.write_procedure(at=NOW - 10 * DAY)
    brine = make_up(dairy, tank)
    make = dairy.start_make(at=NOW - 2 * DAY)
    assert make.procedure is not None
    stage = make.procedure.stages.filter(kind="salt").first()
    assert stage is not None
    client, address = signed_in(dairy.maker), reverse("making:stage", args=[make.pk, stage.pk])
    assert f"{brine.lot.code} · Brine tank" in client.get(address).content.decode()
    typed = {"mark_id": str(uuid4()), "what": "begun", "brine": str(brine.pk), "at": "2026-03-19T09:00", "note": ""}
    assert client.post(address, typed).status_code == 302
    assert make.lot.events.get(kind="salted").note == f"in brine {brine.lot.code}"
    assert make.lot.events.get(kind="laid_in_brine").place == tank
