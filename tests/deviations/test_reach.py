"""What a deviation implicates from the first to the last day that it stands open.

Codex CXC 1-1969 (2020), 19.14 and 21 CFR 117.150(a)(2)(iii), from memory: all affected food is evaluated. What is
affected by a shared vat or brine is common practice, no source: from one cleaning to the next.
"""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from batches.laboratory import actions as laboratory
from batches.making import actions as making
from batches.making.models import Make
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.deviations.queries import guide
from haccp.deviations.reach import may_be_touched
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold, Lot
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError
from haccp.premises.models import Place
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.deviations.test_completed import led_through, reported
from tests.hygiene.test_cleaning import clean, give_method, open_can
from tests.making.test_brine import LISTERIA, lay_in, make_up
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


@pytest.fixture
def second_vat(dairy: Dairy) -> Place:
    return premises.place_add(scope=dairy.owner, name="Vat 2", kind="vat", walking_order=4, at=MORNING - 8 * DAY)


def whys(deviation: Deviation) -> dict[str, str]:
    return {one.lot.code: one.why for one in deviation.implicated.select_related("lot")}


def held() -> set[str]:
    return set(Hold.objects.standing().values_list("lot__code", flat=True))


def ways(deviation: Deviation) -> dict[str, str]:
    return {one.lot.code: one.way for one in deviation.implicated.select_related("lot")}


def test_a_vat_passes_it_on_until_it_is_cleaned(dairy: Dairy) -> None:
    method, chlorine = give_method(dairy)
    can = open_can(dairy, chlorine)
    clean(dairy, method, can, at=MORNING - HOUR)
    first = dairy.start_make(at=MORNING)
    between = making.make_start(
        scope=dairy.maker, lot_id=uuid4(), product_id=dairy.product.id, vat_id=dairy.vat.id,
        milk_l={(milk := dairy.receive_milk(at=MORNING + 3 * HOUR)).lot_id: milk.volume_l},
        started_at=MORNING + 4 * HOUR, in_spite_of="No hot water.", now=MORNING + 4 * HOUR,
    )  # fmt: skip
    clean(dairy, method, can, at=MORNING + 8 * HOUR)
    after = dairy.start_make(at=MORNING + 9 * HOUR)
    deviation = reported(dairy, first, now=MORNING + 10 * HOUR)
    assert whys(deviation) == {
        first.lot.code: "named by Milo Maker",
        between.lot.code: f"Vat 1 was used for it after {first.lot.code}, and no cleaning is recorded between",
    }
    assert after.lot.code not in held()


def test_what_comes_to_it_later_is_taken_in_at_once_and_passes_nothing_on_once_it_is_cleared(
    dairy: Dairy,
) -> None:
    tank = premises.place_add(
        scope=dairy.owner, name="Brine tank", kind="brine_tank", walking_order=3, at=MORNING - 8 * DAY
    )
    brine = make_up(dairy, tank, made_at=MORNING - 2 * DAY, now=MORNING - 2 * DAY)
    before = dairy.start_make(at=MORNING - 2 * DAY)
    making.batch_lay_in_brine(
        scope=dairy.maker, use_id=uuid4(), brine_id=brine.pk, make_id=before.pk, laid_in_at=MORNING - DAY,
        now=MORNING - DAY,
    )  # fmt: skip
    dairy.event(before, "placed_in_room", at=MORNING - HOUR, place=dairy.room)
    suspect, sound = dairy.start_make(at=MORNING), dairy.start_make(at=MORNING + 2 * DAY)
    deviation = reported(dairy, suspect, now=MORNING + 2 * HOUR)
    assert held() == {suspect.lot.code}

    def lay(make: Make, at: datetime) -> None:
        making.batch_lay_in_brine(
            scope=dairy.helper, use_id=uuid4(), brine_id=brine.pk, make_id=make.pk, laid_in_at=at, now=at
        )

    lay(suspect, MORNING + DAY)
    assert whys(deviation)[brine.lot.code] == f"{suspect.lot.code} lay in it"
    # It left the brine before the suspect one came: what is touched later is not touched.
    assert held() == {suspect.lot.code, brine.lot.code}
    with pytest.raises(ActionError, match="is on hold and cannot be used"):
        lay(sound, MORNING + 3 * DAY)
    widening = deviation.widenings.get()
    assert (widening.recorded_by, widening.lots.get().lot) == (dairy.helper.user, brine.lot)

    def cleared(lot: Lot) -> None:
        deviations.step_add(
            scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.pk, kind="disposition", lot_id=lot.pk,
            disposition="not_touched", text="Boiled and filtered.", now=MORNING + 3 * DAY,
        )  # fmt: skip

    cleared(brine.lot)
    lay(sound, MORNING + 4 * DAY)
    assert sound.lot.code not in held()
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_room_takes_in_what_is_put_there_until_the_check_is_met_again(dairy: Dairy) -> None:
    first, second, third = (dairy.start_make(at=MORNING + back * DAY) for back in (-4, -2, 0))
    dairy.event(first, "placed_in_room", at=MORNING - 3 * DAY, place=dairy.room)
    dairy.save("Room 1 temperature", ("12", "°C"), at=MORNING - 2 * DAY, instrument_id=dairy.thermometer.pk)
    dairy.save("Room 1 temperature", ("19", "°C"), at=MORNING, instrument_id=dairy.thermometer.pk)
    deviation = Deviation.objects.get(cause="ruling", control_point__code="CCP 3")
    assert set(whys(deviation)) == {first.lot.code}
    dairy.event(second, "placed_in_room", at=MORNING + HOUR, place=dairy.room)
    assert whys(deviation)[second.lot.code].startswith("was in Room 1 since")
    assert held() == {first.lot.code, second.lot.code}
    dairy.save("Room 1 temperature", ("12", "°C"), at=MORNING + 2 * HOUR, instrument_id=dairy.thermometer.pk)
    dairy.event(third, "placed_in_room", at=MORNING + 3 * HOUR, place=dairy.room)
    assert third.lot.code not in held()


def listeria_in(dairy: Dairy, lot_id: object, *, at: datetime) -> Deviation:
    sample = laboratory.sample_take(
        scope=dairy.maker, sample_id=uuid4(), laboratory="County laboratory", tests=[LISTERIA], taken_at=at,
        lot_id=lot_id, now=at,  # type: ignore[arg-type]
    )  # fmt: skip
    laboratory.result_enter(
        scope=dairy.maker, result_id=uuid4(), test_id=sample.tests.get().pk,
        values=["not detected", "detected", *["not detected"] * 3], reported_at=at + HOUR, now=at + HOUR,
    )  # fmt: skip
    return Deviation.objects.get(cause="laboratory")


def test_a_germ_in_a_cheese_reaches_all_that_shares_milk_an_ingredient_or_a_room(
    dairy: Dairy, second_vat: Place
) -> None:
    milk = dairy.receive_milk(at=MORNING - HOUR, volume="400")
    rennet = dairy.receive_ingredient(at=MORNING - 5 * DAY)

    def made(at: datetime, milk_l: dict[object, float], vat: Place, rennet_ml: str = "") -> Lot:
        make = making.make_start(
            scope=dairy.maker, lot_id=uuid4(), product_id=dairy.product.id, vat_id=vat.id, milk_l=milk_l,  # type: ignore[arg-type]
            started_at=at, now=at,
        )  # fmt: skip
        if rennet_ml:
            use = making.UseTyped(use_id=uuid4(), lot_id=rennet.pk, amount=rennet_ml, unit="mL")
            making.ingredient_use(scope=dairy.maker, make_id=make.pk, use=use, used_at=at, now=at)
        return make.lot

    def own(at: datetime) -> dict[object, float]:
        other = dairy.receive_milk(at=at - HOUR)
        return {other.lot_id: other.volume_l}

    found = made(MORNING, {milk.lot_id: 200}, dairy.vat, "50")
    of_the_milk = made(MORNING + HOUR, {milk.lot_id: 200}, second_vat)
    of_the_rennet = made(MORNING + 3 * DAY, own(MORNING + 3 * DAY), second_vat, "50")
    of_the_room = made(MORNING + 5 * DAY, own(MORNING + 5 * DAY), second_vat)
    apart = made(MORNING + 7 * DAY, own(MORNING + 7 * DAY), second_vat)
    for lot, at in ((found, MORNING + DAY), (of_the_room, MORNING + 6 * DAY)):
        dairy.event(lot.make, "placed_in_room", at=at, place=dairy.room)
    deviation = listeria_in(dairy, found.pk, at=MORNING + 8 * DAY)
    assert deviation.origin_unknown
    assert ways(deviation) == {
        found.code: "direct",
        milk.lot.code: "common",
        rennet.lot.code: "common",
        of_the_milk.code: "common",
        of_the_rennet.code: "common",
        of_the_room.code: "common",
    }
    assert whys(deviation)[of_the_rennet.code] == f"was made with {rennet.lot.code} as well"
    assert whys(deviation)[of_the_room.code] == "was in Room 1 together with it"
    assert held() == set(whys(deviation))
    assert apart.code not in held()

    # One decision for what is here for the same reason, each lot with a step of its own.
    client = signed_in(dairy.maker)
    page = client.get(reverse("deviations:detail", args=[deviation.pk])).content.decode()
    assert f"went into {found.code}: {rennet.lot.code}, {milk.lot.code}" in page
    group = {
        "request_id": str(uuid4()), "lots": f"{rennet.pk} {milk.lot_id}", "disposition": "not_touched", "text": "",
    }  # fmt: skip
    address = reverse("deviations:decide", args=[deviation.pk])
    assert "Say why this is safe" in client.post(address, group).content.decode()
    assert client.post(address, group | {"text": "Examined and free."}).status_code == 302
    assert client.post(address, group | {"text": "Examined and free."}).status_code in (302, 422)
    assert deviation.steps.filter(kind="disposition").count() == 2
    assert {milk.lot.code, rennet.lot.code}.isdisjoint(held())
    with pytest.raises(ActionError, match="one of the lots that this deviation implicates"):
        deviations.disposition_add_many(
            scope=dairy.maker, request_id=uuid4(), deviation_id=deviation.pk, lot_ids=[found.pk, apart.pk],
            disposition="destroy", text="All of it.", now=MORNING + 9 * DAY,
        )  # fmt: skip
    assert not deviation.steps.filter(disposition="destroy").exists()


def test_where_the_origin_is_known_what_shares_a_source_is_offered_and_not_held(
    dairy: Dairy, second_vat: Place
) -> None:
    milk = dairy.receive_milk(at=MORNING - HOUR, volume="400")
    suspect = making.make_start(
        scope=dairy.maker, lot_id=uuid4(), product_id=dairy.product.id, vat_id=dairy.vat.id,
        milk_l={milk.lot_id: 200}, started_at=MORNING, now=MORNING,
    )  # fmt: skip
    sibling = making.make_start(
        scope=dairy.maker, lot_id=uuid4(), product_id=dairy.product.id, vat_id=second_vat.id,
        milk_l={milk.lot_id: 200}, started_at=MORNING, now=MORNING,
    )  # fmt: skip
    deviation = reported(dairy, suspect)
    assert set(whys(deviation)) == {suspect.lot.code}
    offered = dict(may_be_touched(dairy.owner.premises, deviation, MORNING + 3 * HOUR))
    assert offered == {
        milk.lot: f"went into {suspect.lot.code}",
        sibling.lot: f"was made with {milk.lot.code} as well",
    }


def test_it_is_not_closed_while_it_reaches_a_lot_that_it_does_not_name(dairy: Dairy) -> None:
    """A cleaning that was amended away, or an event written by other means: the net is drawn again at the end."""
    suspect = dairy.start_make(at=MORNING)
    deviation = reported(dairy, suspect)
    led_through(dairy, deviation, "release", at=MORNING + 3 * HOUR)
    other = dairy.start_make(at=MORNING + 3 * DAY)
    Lot.objects.get(pk=suspect.pk).links_out.create(child=other.lot, amount=1, unit="kg", recorded_at=MORNING + 3 * DAY)
    closing = {
        "scope": dairy.owner, "deviation_id": deviation.pk, "password": PASSWORD, "now": MORNING + 4 * DAY,
        "seen_sha256": guide(deviation).content_sha256,
    }  # fmt: skip
    with pytest.raises(ActionError, match=f"reaches more: {other.lot.code}"):
        deviations.deviation_close(**closing)  # type: ignore[arg-type]
    deviations.deviation_widen(
        scope=dairy.maker, widening_id=uuid4(), deviation_id=deviation.pk, lot_ids=[other.pk], reason="Trim.",
        now=MORNING + 4 * DAY,
    )  # fmt: skip
    led_through(dairy, deviation, "release", at=MORNING + 4 * DAY)
    deviations.deviation_close(**(closing | {"seen_sha256": guide(deviation).content_sha256}))  # type: ignore[arg-type]


def test_a_brine_itself_does_not_reach_back_to_its_salt(dairy: Dairy) -> None:
    tank = premises.place_add(
        scope=dairy.owner, name="Brine tank", kind="brine_tank", walking_order=3, at=MORNING - 8 * DAY
    )
    brine = make_up(dairy, tank, made_at=MORNING - 2 * DAY, now=MORNING - 2 * DAY)
    assert lay_in is not None
    deviation = listeria_in(dairy, brine.pk, at=MORNING)
    assert not deviation.origin_unknown
    assert set(whys(deviation)) == {brine.lot.code}
