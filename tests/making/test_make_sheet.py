"""The make sheet: stages, timers, doses, presses, salt, yield, and the procedure that they follow."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.intake import actions as intake
from batches.intake.stock import left_si
from batches.making import actions as making
from batches.making.actions import ReadingTyped, UseTyped
from batches.making.families import FAMILIES, NAMES, family_of
from batches.making.models import Make, ProcedureStage, StageMark
from batches.making.sheet import StageState, sheet_of
from batches.making.whey import whey_of
from batches.making.yields import yield_found
from batches.tracing.actions import by_product_record
from haccp.checks import actions as checks
from haccp.checks.judging import judge_again
from haccp.checks.models import DueCheck, MissedCheck, Record
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import LotEvent, LotLink
from haccp.plan.models import Product
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 7, 0, tzinfo=UTC)
MIN = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW + 8 * HOUR, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def make_with_sheet(dairy: Dairy, family: str = "semi_hard", volume: str = "200") -> Make:
    dairy.write_procedure(at=NOW - HOUR, family=family)
    return dairy.start_make(at=NOW, milk=dairy.receive_milk(at=NOW - HOUR, volume=volume))


def stage_of(make: Make, kind: str) -> ProcedureStage:
    assert make.procedure is not None
    return make.procedure.stages.get(kind=kind)


def note(
    dairy: Dairy, make: Make, kind: str, what: str, at: datetime, *readings: ReadingTyped, **more: object
) -> StageMark:
    arguments: dict[str, object] = {"mark_id": uuid4(), "now": NOW + 8 * HOUR, "readings": readings}
    arguments |= {"make_id": make.pk, "stage_id": stage_of(make, kind).pk, "what": what, "at": at}
    return making.stage_record(scope=dairy.maker, **(arguments | more))  # type: ignore[arg-type]


def state(make: Make, kind: str, at: datetime) -> StageState:
    found = sheet_of(make, at).of(stage_of(make, kind).pk)
    assert found is not None
    return found


def test_every_family_is_a_sequence_of_stages_and_a_product_s_words_name_it() -> None:
    assert set(FAMILIES) == set(NAMES)
    said = ("semi-hard, pressed", "hard", "Fresh lactic", "washed rind", "unheard of")
    assert [family_of(words) for words in said] == ["semi_hard", "hard", "fresh_lactic", "washed_rind", ""]


def test_the_set_time_follows_from_flocculation_and_outlives_the_browser(dairy: Dairy) -> None:
    """Common practice, no source: flocculation after 13 min 08 s × 4 is about 52 min in all, 39 still to go."""
    make = make_with_sheet(dairy, "washed_rind")
    with pytest.raises(ActionError, match="when the rennet went in"):
        note(dairy, make, "flocculation", "done", NOW + 50 * MIN)
    rennet_at = NOW + 40 * MIN
    note(dairy, make, "rennet", "done", rennet_at)
    with pytest.raises(ActionError, match="between 1 min and 3 h"):
        note(dairy, make, "flocculation", "done", rennet_at + timedelta(seconds=20))
    seen_at = rennet_at + timedelta(minutes=13, seconds=8)
    note(dairy, make, "flocculation", "done", seen_at)

    cut = state(make, "cut", seen_at)
    assert cut.set_time is not None
    assert cut.set_time.total_s == pytest.approx(52 * 60 + 32)
    assert cut.set_time.remaining_s == pytest.approx(39 * 60 + 24)
    assert cut.ends_at == rennet_at + timedelta(minutes=52, seconds=32)
    with time_machine.travel(seen_at + 10 * MIN, tick=False):
        page = signed_in(dairy.helper).get(reverse("making:sheet", args=[make.pk])).content.decode()
    assert 'data-left-s="1764"' in page  # 29 min 24 s: computed anew for whoever opens the page
    assert "29 min 24 s still to go" in page
    # The plan's checks fell due from the stage as from an event.
    note(dairy, make, "ripen", "begun", NOW + 5 * MIN)
    assert DueCheck.objects.filter(lot=make.lot, check_due__name="pH of the curd").count() == 3


def test_doses_fit_the_milk_in_the_vat_and_one_tap_links_the_lots(dairy: Dairy) -> None:
    make = make_with_sheet(dairy, volume="120")
    rennet = dairy.receive_ingredient(
        at=NOW - HOUR, expires_on=(NOW + 9 * HOUR).date(), strength="150", strength_unit="IMCU/mL"
    )
    dairy.receive_ingredient(at=NOW - HOUR, kind="culture", amount="50", amount_unit="g", bulk_density="0,4")
    [dose] = state(make, "rennet", NOW).doses
    # 25 mL for 100 L, in 120 L: 30 mL = 6.09 US teaspoons of 4.929 mL
    assert (dose.words, dose.spoons) == ("30.0 mL", "2 tbsp + 1/8 tsp")
    [culture] = state(make, "ripen", NOW).doses
    # 2 g for 100 L: 2.4 g at 0.4 g/mL is 6.0 mL, 1.217 teaspoons
    assert (culture.words, culture.spoons) == ("2.40 g", "1 + 1/4 tsp")

    client, address = signed_in(dairy.helper), reverse("making:stage", args=[make.pk, stage_of(make, "rennet").pk])
    form = {"mark_id": str(uuid4()), "what": "done", "at": "2026-03-10T07:40", f"lot_{dose.dose.pk}": str(rennet.pk)}
    form |= {
        f"amount_{dose.dose.pk}": "30",
        "temperature": "32,5",
        "temperature_unit": "°C",
        "ph": "46",
        "ph_unit": "pH",
    }
    answer = client.post(address, form)
    assert answer.status_code == 422
    assert "Did you mean 4.6?" in answer.content.decode()
    assert 'value="32,5"' in answer.content.decode()
    for _ in range(2):
        assert client.post(address, form | {"ph": "6,55"}).status_code == 302
    link = LotLink.objects.get(parent=rennet.lot)
    assert (link.child_id, link.amount, link.unit) == (make.lot_id, pytest.approx(0.03), "L")
    assert left_si(rennet) == pytest.approx(0.47)
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_lot_that_may_not_be_used_needs_a_reason_and_what_is_not_there_cannot_be_used(dairy: Dairy) -> None:
    make = make_with_sheet(dairy)
    rennet = dairy.receive_ingredient(at=NOW - HOUR, expires_on=(NOW + HOUR).date())

    def use(amount: str, at: datetime, **more: str) -> None:
        typed = UseTyped(uuid4(), rennet.pk, amount, "mL")
        making.ingredient_use(scope=dairy.maker, make_id=make.pk, use=typed, used_at=at, now=at + MIN, **more)

    with pytest.raises(ActionError, match="Only 500 mL of"):
        use("600", NOW + HOUR)
    with pytest.raises(ActionError, match="before WT260310 began"):
        use("10", NOW - HOUR)
    late = NOW + 24 * HOUR
    with pytest.raises(ActionError, match="it expired on 10 Mar 2026") as refused:
        use("10", late)
    assert set(refused.value.fields) == {"exception"}
    use("10", NOW + HOUR)
    use("10", late, exception="Tested: it still sets in 14 min.")  # a second use of the same lot
    assert "Tested" in Deviation.objects.get(cause="by_hand").summary
    assert left_si(rennet) == pytest.approx(0.48)
    other = dairy.receive_ingredient(at=NOW - HOUR, kind="salt", amount="5", amount_unit="kg")
    dairy.decide(other.pk, "refused", at=NOW, reason="The sack is torn.")
    with pytest.raises(ActionError, match="it was refused: The sack is torn"):
        making.ingredient_use(
            scope=dairy.maker, make_id=make.pk, use=UseTyped(uuid4(), other.pk, "100", "g"), used_at=late, now=late
        )


def test_readings_are_judged_by_the_stage_and_an_unfit_meter_does_not_count(dairy: Dairy) -> None:
    draft = making.procedure_draft(scope=dairy.maker, product_id=dairy.product.id, family="hard", now=NOW - HOUR)
    press, salt, warm = (draft.stages.get(kind=kind) for kind in ("press", "salt", "warm"))

    def put(stage: ProcedureStage, **numbers: float) -> None:
        making.stage_put(
            scope=dairy.maker,
            procedure_id=draft.id,
            stage_id=stage.pk,
            kind=stage.kind,
            name=stage.name,
            numbers=numbers,
        )

    with pytest.raises(ActionError, match="above the number after it"):
        put(warm, temperature_low_c=34.0, temperature_high_c=32.0)
    put(
        warm,
        temperature_low_c=31.0,
        temperature_target_c=32.0,
        temperature_high_c=33.0,
        duration_high_s=1800.0,
        ph_low=6.4,
    )
    put(press, press_kg=30.0, lever_advantage=3.0, face_diameter_m=0.2)
    put(salt, salt_percent=2.0)
    making.procedure_put_in_use(scope=dairy.maker, procedure_id=draft.id, note="", now=NOW - HOUR)
    make = dairy.start_make(at=NOW)

    note(dairy, make, "warm", "begun", NOW + MIN)
    with pytest.raises(ActionError, match="before the stage began"):
        note(dairy, make, "warm", "done", NOW)
    stale = ReadingTyped("ph", "6,60", "pH", dairy.ph_meter.id)
    dairy.ph_meter.calibration_valid_until = (NOW - 24 * HOUR).date()
    dairy.ph_meter.save()
    mark = note(dairy, make, "warm", "done", NOW + 40 * MIN, ReadingTyped("temperature", "36", "°C"), stale)
    said = {one.what: (one.ruling, one.unfit) for one in mark.readings.all()}
    assert said["temperature"] == ("breached", "")
    assert said["ph"][0] == "unproven"
    assert "ran out" in said["ph"][1]
    assert "at most 30 min" in state(make, "warm", NOW).time_said
    with pytest.raises(Conflict, match="already noted"):
        note(dairy, make, "warm", "done", NOW + 41 * MIN)
    with pytest.raises(ActionError, match="Say why the entry is corrected"):
        note(dairy, make, "warm", "done", NOW + 25 * MIN, corrects_id=mark.pk)
    note(dairy, make, "warm", "done", NOW + 25 * MIN, corrects_id=mark.pk, reason="Misread the clock.")
    assert not state(make, "warm", NOW).is_outside
    with pytest.raises(ActionError, match="in the future"):
        note(dairy, make, "press", "begun", NOW + 20 * HOUR)

    load = state(make, "press", NOW).press
    assert load is not None
    # 30 kg × 3 × 9.80665 m/s² (NIST SP 811) = 882.6 N; on a face of π/4 · 0.2² m² = 28.09 kPa
    assert (load.force_n, load.pressure_pa) == (pytest.approx(882.6, abs=0.1), pytest.approx(28_094, abs=5))
    note(
        dairy,
        make,
        "press",
        "begun",
        NOW + 3 * HOUR,
        ReadingTyped("curd_mass", "20", "kg"),
        ReadingTyped("press_mass", "40", "kg"),
    )
    weighed = state(make, "press", NOW).press
    assert weighed is not None
    assert weighed.is_weighed
    assert weighed.force_n == pytest.approx(1176.8, abs=0.1)
    sack = dairy.receive_ingredient(at=NOW - HOUR, kind="salt", amount="5", amount_unit="kg")
    assert state(make, "salt", NOW).salt_wanted_kg == pytest.approx(0.4)  # 2 % of 20 kg
    typed = UseTyped(uuid4(), sack.pk, "420", "g")
    note(dairy, make, "salt", "done", NOW + 5 * HOUR, uses=[typed])
    assert state(make, "salt", NOW).salted_percent == pytest.approx(2.1)


def test_a_version_in_use_is_frozen_and_a_make_keeps_the_one_it_began_with(dairy: Dairy) -> None:
    make = make_with_sheet(dairy)
    first = make.procedure
    assert first is not None
    with pytest.raises(Conflict, match="never changes"):
        making.stage_remove(scope=dairy.maker, procedure_id=first.pk, stage_id=stage_of(make, "warm").pk)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        ProcedureStage.objects.filter(procedure=first).update(name="something else")
    draft = making.procedure_draft(scope=dairy.maker, product_id=dairy.product.id, now=NOW + HOUR)
    assert draft.stages.count() == first.stages.count()
    making.stage_move(scope=dairy.maker, procedure_id=draft.pk, stage_id=draft.stages.all()[1].pk, up=True)
    with pytest.raises(ActionError, match="Say what changed"):
        making.procedure_put_in_use(scope=dairy.maker, procedure_id=draft.pk, note=" ")
    making.procedure_put_in_use(scope=dairy.maker, procedure_id=draft.pk, note="Starter first.", now=NOW + 2 * HOUR)
    assert Make.objects.get(pk=make.pk).procedure_id == first.pk
    assert dairy.start_make(at=NOW + 3 * HOUR).procedure_id == draft.pk


def test_milks_are_mixed_in_the_shares_that_the_procedure_names(dairy: Dairy) -> None:
    draft = making.procedure_draft(scope=dairy.maker, product_id=dairy.product.id, family="brined", now=NOW - HOUR)
    for species, low, high in (("cow", 0.0, 30.0), ("ewe", 70.0, 100.0)):
        making.milk_put(
            scope=dairy.maker, procedure_id=draft.pk, species=species, share_low_percent=low, share_high_percent=high
        )
    making.procedure_put_in_use(scope=dairy.maker, procedure_id=draft.pk, note="", now=NOW - HOUR)
    cow = dairy.receive_milk(at=NOW - HOUR)
    ewe = intake.milk_receive(
        scope=dairy.maker, lot_id=uuid4(), species="ewe", source="own flock", volume="200", volume_unit="L",
        received_at=NOW - HOUR, now=NOW - HOUR,
    )  # fmt: skip
    dairy.decide(ewe.pk, "accepted", at=NOW - HOUR, reason="Seen.")

    def start(cow_l: float, ewe_l: float) -> Make:
        return making.make_start(
            scope=dairy.maker, lot_id=uuid4(), product_id=dairy.product.id, vat_id=dairy.vat.id, started_at=NOW,
            milk_l={cow.pk: cow_l, ewe.pk: ewe_l}, now=NOW,
        )  # fmt: skip

    with pytest.raises(ActionError, match=r"Cow's milk would be 50 % of the vat; Weir Tomme asks for 0 to 30 %"):
        start(50, 50)
    assert start(30, 70).lot.links_in.count() == 2


def test_the_yield_stands_beside_what_fat_and_casein_predict(dairy: Dairy) -> None:
    """1.185 kg from 8 L is about 14.8 kg per 100 L (common practice, no source). Van Slyke and Price (Guelph) for 3.6 %
    fat, 2.5 % casein, 37 % moisture: (0.93 × 3.6 + 2.4) × 1.09 / 0.63 = 9.945 kg per 100 kg."""
    make = dairy.start_make(at=NOW, milk=dairy.receive_milk(at=NOW - HOUR, volume="8"))
    arguments = {"scope": dairy.maker, "make_id": make.pk, "weighed_at": NOW + 6 * HOUR, "cheese_unit": "kg"}
    with pytest.raises(ActionError, match="weighs more than its milk"):
        making.yield_record(**arguments, yield_id=uuid4(), cheese="11,85")
    making.yield_record(
        **arguments, yield_id=uuid4(), cheese="1.185", fat="3,6", casein="2,5", moisture="37", now=NOW + 7 * HOUR
    )
    found = yield_found(make)
    assert found is not None
    assert found.predicted is not None
    assert found.found.kg_per_100_l == pytest.approx(14.8, abs=0.02)
    assert found.predicted.percent == pytest.approx(9.945, abs=0.005)
    page = signed_in(dairy.helper).get(reverse("making:sheet", args=[make.pk])).content.decode()
    assert "14.8 kg per 100 L" in page
    assert "had no procedure" in page


def test_the_sheet_costs_the_same_however_much_was_noted_and_procedures_are_written_on_their_pages(
    dairy: Dairy,
) -> None:
    make, client = make_with_sheet(dairy), signed_in(dairy.maker)
    dairy.receive_ingredient(at=NOW - HOUR)
    address = reverse("making:sheet", args=[make.pk])
    note(dairy, make, "warm", "begun", NOW, ReadingTyped("temperature", "30", "°C"))
    with CaptureQueriesContext(connection) as one:
        client.get(address)
    for kind in ("ripen", "rennet", "heal", "stir"):
        note(dairy, make, kind, "begun", NOW + MIN, ReadingTyped("temperature", "31", "°C"))
    dairy.receive_ingredient(at=NOW - HOUR)
    with CaptureQueriesContext(connection) as many:
        client.get(address)
    assert len(many) <= len(one) + 1  # one more: the checks that fell due with the starter

    product = Product.objects.create(
        premises=dairy.owner.premises, name="Blue", code="BL", species="cow", treatment="raw", family="Blue"
    )
    started = client.post(reverse("making:draft_new", args=[product.pk]), {"family": "blue"})
    draft = UUID(started["Location"].rstrip("/").split("/")[-1])
    page = client.get(started["Location"]).content.decode()
    assert "Pierce" in page
    form = {
        "kind": "stir",
        "name": "",
        "instruction": "Gently.",
        "temperature_target_c": "320",
        "duration_target_s": "20",
    }
    new = reverse("making:draft_stage_new", args=[draft])
    answer = client.post(new, form)
    assert answer.status_code == 422
    assert all(text in answer.content.decode() for text in ("Did you mean 32?", 'value="320"', "Gently."))
    assert client.post(new, form | {"temperature_target_c": "32"}).status_code == 302
    assert client.post(started["Location"], {"put_in_use": "1", "note": ""}).status_code == 302
    stage = ProcedureStage.objects.get(procedure=draft, instruction="Gently.")
    assert (stage.temperature_target_c, stage.duration_target_s, stage.name) == (32.0, 1200.0, "stir")
    assert "version 1 since" in client.get(reverse("making:procedures")).content.decode()


def ph(text: str, dairy: Dairy) -> ReadingTyped:
    return ReadingTyped("ph", text, "pH", dairy.ph_meter.pk)


def test_what_is_read_on_the_sheet_answers_the_plan_s_check_and_serves_its_limit(dairy: Dairy) -> None:
    """The plan asks for pH at most 5.40 within 6 h of the starter, read at 2, 4 and 6 h."""
    make = make_with_sheet(dairy)
    note(dairy, make, "ripen", "begun", NOW, now=NOW)
    with time_machine.travel(NOW + 2 * HOUR, tick=False):
        page = signed_in(dairy.helper).get(reverse("making:stage", args=[make.pk, stage_of(make, "stir").pk]))
        assert "This also answers “pH of the curd” of the plan, due 09:00" in page.content.decode()
    note(dairy, make, "stir", "read", NOW + 2 * HOUR, ph("6.45", dairy), now=NOW + 2 * HOUR)
    first = Record.objects.get(lot=make.lot)
    assert (first.due.due_at if first.due else None) == NOW + 2 * HOUR
    assert first.rulings.get().ruling == "awaited"
    # Between the checks of the plan: nothing is due, and the limit by elapsed time looks at it all the same
    note(dairy, make, "drain", "done", NOW + 3 * HOUR, ph("6.40", dairy), now=NOW + 3 * HOUR)
    extra = Record.objects.get(lot=make.lot, observed_at=NOW + 3 * HOUR)
    assert extra.due is None
    ruling = extra.rulings.get()
    assert ruling.code == "elapsed.slow"
    with time_machine.travel(NOW + 3.2 * HOUR, tick=False):
        today = signed_in(dairy.helper).get(reverse("checks:today")).content.decode()
        assert "Too slow: the limit will be missed" in today
        assert ruling.reason in today
        batch = signed_in(dairy.helper).get(reverse("making:batch", args=[make.pk])).content.decode()
    assert batch.count("6.40 pH") + batch.count("pH 6.40") >= 1
    # Without an instrument the plan's check is left to be done
    note(dairy, make, "mould", "read", NOW + 4 * HOUR, ReadingTyped("ph", "6.3", "pH"), now=NOW + 4 * HOUR)
    assert Record.objects.filter(lot=make.lot).count() == 2
    note(dairy, make, "press", "read", NOW + 5 * HOUR, ph("5.30", dairy), now=NOW + 5 * HOUR)
    assert Record.objects.get(lot=make.lot, observed_at=NOW + 5 * HOUR).rulings.get().ruling == "met"
    with time_machine.travel(NOW + 5.1 * HOUR, tick=False):
        assert "Too slow" not in signed_in(dairy.helper).get(reverse("checks:today")).content.decode()

    wrong = make.marks.get(stage=stage_of(make, "press"))
    note(
        dairy, make, "press", "read", NOW + 5 * HOUR, ph("5.90", dairy), now=NOW + 6 * HOUR, corrects_id=wrong.pk,
        reason="Typed another vat's.",
    )  # fmt: skip
    amended = Record.objects.current().get(lot=make.lot, observed_at=NOW + 5 * HOUR)
    assert (amended.amend_reason, amended.readings.get().typed_text) == ("Typed another vat's.", "5.90")
    assert verify_log(dairy.owner.premises.log).holds


def test_a_sheet_typed_from_paper_enters_the_missed_checks_late(dairy: Dairy) -> None:
    """The day after, its checks are flagged; what stood on paper for them is theirs, and late."""
    make, after = make_with_sheet(dairy), NOW + 30 * HOUR
    note(dairy, make, "ripen", "begun", NOW, now=after)
    checks.sweep(now=after)
    missed = MissedCheck.objects.filter(due__lot=make.lot, due__check_due__name="pH of the curd")
    assert missed.count() == 3
    note(dairy, make, "stir", "read", NOW + 2 * HOUR + 10 * MIN, ph("6.20", dairy), now=after)
    late = Record.objects.get(lot=make.lot)
    assert late.due is not None
    assert (late.due.due_at, late.observed_at, late.recorded_at) == (NOW + 2 * HOUR, NOW + 2 * HOUR + 10 * MIN, after)
    # Once answered it is not answered again, and outside their windows nothing is theirs
    note(dairy, make, "cut", "read", NOW + 2 * HOUR + 20 * MIN, ph("6.15", dairy), now=after)
    assert Record.objects.filter(lot=make.lot, due=late.due).count() == 1
    note(dairy, make, "press", "read", NOW + 7 * HOUR, ph("5.30", dairy), now=after)
    assert not Record.objects.filter(lot=make.lot, observed_at=NOW + 7 * HOUR).exists()
    assert missed.count() == 3


def test_a_corrected_time_moves_the_event_its_checks_and_what_was_judged_from_it(dairy: Dairy) -> None:
    make = make_with_sheet(dairy)
    begun = note(dairy, make, "ripen", "begun", NOW, now=NOW)
    done = dairy.save(
        "pH of the curd", "5.30", at=NOW + 2 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.pk,
        due_id=DueCheck.objects.get(lot=make.lot, due_at=NOW + 2 * HOUR).pk,
    ).record  # fmt: skip
    assert done.rulings.get().facts["started_at"] == NOW.isoformat()
    right_at = NOW + 30 * MIN
    form = signed_in(dairy.helper).get(
        reverse("making:stage", args=[make.pk, begun.stage_id]), {"corrects": str(begun.pk)}
    )
    assert form.status_code == 200
    note(
        dairy, make, "ripen", "begun", right_at, corrects_id=begun.pk, reason="The clock on the wall.",
        now=NOW + 2.5 * HOUR,
    )  # fmt: skip
    [event] = make.lot.events.filter(kind="starter_added")
    assert (event.occurred_at, event.reason) == (right_at, "The clock on the wall.")
    assert LotEvent.every.filter(lot=make.lot, kind="starter_added").count() == 2
    # 2 h was done, and is now the check that was due at 2 h 30; 4 h and 6 h fall due by the right time alone
    due = list(
        DueCheck.objects.filter(lot=make.lot, check_due__name="pH of the curd").values_list("due_at", "settled_at")
    )
    assert [at for at, _ in due] == [right_at + hours * HOUR for hours in (2, 4, 6)]
    assert [settled is not None for _, settled in due] == [True, False, False]
    now_says = Record.objects.current().get(lot=make.lot)
    assert now_says.amends == done
    assert now_says.amend_reason == (
        "The time of “starter added” was corrected from 07:00 to 07:30: The clock on the wall."
    )
    assert now_says.rulings.get().facts["started_at"] == right_at.isoformat()
    assert [verdict.facts["started_at"] for _, verdict in judge_again(done)] == [NOW.isoformat()]
    assert verify_log(dairy.owner.premises.log).holds


def test_an_event_typed_by_hand_is_corrected_on_its_own_page(dairy: Dairy) -> None:
    make = dairy.start_make(at=NOW)
    dairy.event(make, "starter_added", at=NOW + HOUR)
    event = make.lot.events.get(kind="starter_added")
    client, address = signed_in(dairy.helper), reverse("making:event_time", args=[make.pk, event.pk])
    form = {"event_id": str(uuid4()), "occurred_at": "2026-03-10T23:30", "reason": ""}
    page = client.post(address, form)
    assert page.status_code == 422
    assert "Say why the time is corrected" in page.content.decode()
    page = client.post(address, form | {"reason": "Typed wrongly."})
    assert "That time is in the future" in page.content.decode()
    right = form | {"reason": "Typed wrongly.", "occurred_at": "2026-03-10T07:20"}
    assert client.post(address, right).status_code == 302
    assert make.lot.events.get(kind="starter_added").occurred_at == NOW + 20 * MIN
    # Somebody else had the page open: nothing is corrected twice
    assert client.post(address, right | {"event_id": str(uuid4())}).status_code == 404


def test_a_cheese_of_whey_begins_with_the_whey_of_an_earlier_make(dairy: Dairy) -> None:
    first = dairy.start_make(at=NOW)
    whey = by_product_record(
        scope=dairy.maker, lot_id=uuid4(), from_lot_id=first.lot_id, kind="whey", amount="150", unit="L",
        drawn_at=NOW + HOUR, now=NOW + HOUR,
    )  # fmt: skip
    client, address = signed_in(dairy.maker), reverse("making:new")
    page = client.get(address).content.decode()
    assert f"whey of {first.lot.code}" in page
    form = {
        "lot_id": str(uuid4()), "product": str(dairy.product.pk), "vat": str(dairy.vat.pk), "volume_unit": "L",
        "started_at": "2026-03-10T09:00", f"milk-{whey.lot_id}": "160", "in_spite_of": "It was rinsed just now.",
    }  # fmt: skip
    assert "Only 150" in client.post(address, form).content.decode()
    answer = client.post(address, form | {f"milk-{whey.lot_id}": "120,5"})
    assert answer.status_code == 302, answer.content.decode()
    second = Make.objects.get(pk=form["lot_id"])
    assert list(second.lot.links_in.values_list("parent", "amount", "unit")) == [(whey.lot_id, 120.5, "L")]
    assert sheet_of(second, NOW + 3 * HOUR).milk_l == 120.5
    assert client.post(address, form | {f"milk-{whey.lot_id}": "120,5"}).status_code == 302  # a double tap
    [left] = whey_of(dairy.owner.premises)
    assert left.left_l == pytest.approx(29.5)


def test_a_make_typed_from_paper_is_offered_the_day_typed_last(dairy: Dairy) -> None:
    make = make_with_sheet(dairy)
    client, address = signed_in(dairy.helper), reverse("making:stage", args=[make.pk, stage_of(make, "rennet").pk])
    note(dairy, make, "warm", "done", NOW + 20 * MIN)  # written down hours later
    day = f"{NOW:%Y-%m-%d}T00:00"
    page = client.get(address)
    assert day in page.content.decode()
    typed = {"mark_id": page.context["form"].initial["mark_id"], "what": "begun", "at": day}
    refused = client.post(address, typed)
    assert refused.status_code == 422
    assert "Type the time of day too" in refused.content.decode()
    assert client.post(address, typed | {"at": f"{NOW:%Y-%m-%d}T09:10"}).status_code == 302
    # Timed on the spot: the time is now
    note(dairy, make, "stir", "begun", NOW + 8 * HOUR - MIN)
    assert day not in client.get(address).content.decode()


def test_a_mark_changed_to_left_out_takes_its_event_back_unless_a_check_was_recorded_by_it(dairy: Dairy) -> None:
    make = make_with_sheet(dairy)
    begun = note(dairy, make, "ripen", "begun", NOW + 10 * MIN)
    event = make.lot.events.get(kind="starter_added")
    due = DueCheck.objects.filter(lot=make.lot, slot_key__contains="starter_added@")
    assert due.exists()
    note(dairy, make, "ripen", "skipped", NOW + 10 * MIN, corrects_id=begun.pk, reason="the wrong vat")
    assert not make.lot.events.filter(kind="starter_added").exists()
    assert [one.withdrawn for one in LotEvent.every.filter(corrects=event)] == [True]
    assert not due.exists()
    assert verify_log(dairy.owner.premises.log).holds

    # Done after all: the event is there again, and once a check was recorded by it, it stays
    again = note(dairy, make, "ripen", "begun", NOW + 30 * MIN)
    assert make.lot.events.get(kind="starter_added").occurred_at == NOW + 30 * MIN
    dairy.save("pH of the curd", "5.30", at=NOW + 7 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    with pytest.raises(ActionError) as refused:
        note(dairy, make, "ripen", "skipped", NOW + 30 * MIN, corrects_id=again.pk, reason="the wrong vat")
    assert "“pH of the curd” was recorded by it" in str(refused.value)
    assert make.lot.events.filter(kind="starter_added").exists()
