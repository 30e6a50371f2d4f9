"""Instruments as found and as left, and what follows when one is found out."""

from dataclasses import replace
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.intake.actions import FindingTyped, findings_record
from batches.intake.queries import findings_of
from batches.making.actions import ReadingTyped, stage_record
from batches.making.sheet import sheet_of
from batches.release.gate import gate_of
from batches.ripening import actions as ripening
from batches.ripening.ageing_clock import clock_of
from haccp.calibration import actions
from haccp.calibration.fitting_points import FittingPoints
from haccp.calibration.measuring import PointTyped as Point
from haccp.calibration.models import Calibration, Doubt, DoubtedReading
from haccp.calibration.queries import doubts_about, standing_doubts
from haccp.calibration.resting import Resting
from haccp.checks.judging import judge_again
from haccp.checks.models import Record, RulingRow
from haccp.deviations.models import Closure, Deviation
from haccp.ledger import actions as ledger
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold
from haccp.plan import actions as plan
from haccp.plan.document.parts import CriticalLimit, Measure
from haccp.plan.rows import read_plan
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument
from haccp.reports.gather.acidity_curves import acidity_curves
from haccp.reports.gather.period import period_for
from haccp.reports.gather.scope import scope_of
from haccp.science.ruling import Ruling
from tests.calibration.conftest import NOW
from tests.dairy import HOUR, PASSWORD, Dairy
from tests.web.pages import reader, signed_in, stranger

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def calibrate(dairy: Dairy, instrument: Instrument, method: str, *points: Point, **more: object) -> Calibration:
    arguments: dict[str, object] = {
        "scope": dairy.maker,
        "calibration_id": uuid4(),
        "instrument_id": instrument.pk,
        "method": method,
        "performed_at": NOW - HOUR,
        "points": list(points),
        "valid_until": date(2026, 9, 20),
        "unit": "°C",
        "tolerance": "1.0",
    }
    return actions.instrument_calibrate(**(arguments | more))  # type: ignore[arg-type]


def test_a_good_ice_point_keeps_the_instrument_in_use(dairy: Dairy) -> None:
    """Ice melts at 0 °C: ITS-90, from memory."""
    saved = calibrate(dairy, dairy.thermometer, "ice_point", Point(found="0.3"))
    dairy.thermometer.refresh_from_db()
    assert (saved.found_ruling, saved.left_ruling) == ("met", "met")
    assert dairy.thermometer.calibrated_on == date(2026, 3, 20)
    assert dairy.thermometer.calibration_valid_until == date(2026, 9, 20)
    assert not Doubt.objects.exists()

    # In °F the same: 32 + 0.54; an error of 1.8 °F is one of 1 °C
    same = calibrate(dairy, dairy.thermometer, "ice_point", Point(found="32.54"), unit="°F", tolerance="1.8")
    assert same.found_facts["error"] == pytest.approx(0.3)
    assert same.tolerance == pytest.approx(1.0)


def test_water_boils_lower_on_a_hill(dairy: Dairy) -> None:
    """At 1000 ft (304.8 m) water boils at 210.2 °F, 99.0 °C: extension table, read. At 900 hPa at 96.7 °C: IAPWS-IF97
    tables, from memory."""
    hill = calibrate(dairy, dairy.thermometer, "boiling_point", Point(found="99.0"), altitude="304.8", tolerance="2")
    assert hill.points[0]["true"] == pytest.approx((210.2 - 32) / 1.8, abs=0.1)
    low = calibrate(dairy, dairy.thermometer, "boiling_point", Point(found="100"), pressure="900")
    assert low.points[0]["true"] == pytest.approx(96.7, abs=0.05)
    assert low.found_ruling == "breached"
    with pytest.raises(ActionError) as refused:
        calibrate(dairy, dairy.thermometer, "boiling_point", Point(found="100"))
    assert "pressure" in refused.value.fields


def test_two_buffers_give_slope_and_offset(dairy: Dairy) -> None:
    """59.16 mV per pH at 25 °C is Nernst's slope; 2.303 RT/F with CODATA 2018 constants."""
    good = calibrate(
        dairy, dairy.ph_meter, "buffers", Point(true="7.00", found="0"), Point(true="4.00", found="177.5"),
        buffer_temperature="25", valid_until=date(2026, 3, 21),
    )  # fmt: skip
    assert good.found_facts["slope_percent"] == pytest.approx(100.0, abs=0.1)
    assert good.found_ruling == "met"
    tired = calibrate(
        dairy, dairy.ph_meter, "buffers", Point(true="7.00", found="5", left="2"),
        Point(true="4.00", found="150", left="175"), buffer_temperature="25", valid_until=date(2026, 3, 21),
        performed_at=NOW,
    )  # fmt: skip
    assert (tired.found_ruling, tired.left_ruling) == ("breached", "met")


def test_an_instrument_found_out_puts_every_record_since_it_was_good_in_doubt(dairy: Dairy) -> None:
    make = dairy.start_make(at=NOW - 10 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 9 * DAY, place=dairy.room)
    gone = dairy.start_make(at=NOW - 12 * DAY)
    dairy.event(gone, "placed_in_room", at=NOW - 11 * DAY, place=dairy.room)
    dairy.event(gone, "left_room", at=NOW - 8 * DAY)
    calibrate(dairy, dairy.thermometer, "ice_point", Point(found="0.2"), performed_at=NOW - 7 * DAY)
    before = dairy.save("Room 1 temperature", "11.0", at=NOW - 8 * DAY, instrument_id=dairy.thermometer.id).record
    saved = [
        dairy.save("Room 1 temperature", value, at=NOW - day * DAY, instrument_id=dairy.thermometer.id).record
        for day, value in ((6, "11.0"), (5, "12.8"), (4, "11.5"))
    ]
    sealed = list(RulingRow.objects.order_by("pk").values())
    assert not Hold.objects.exists()

    found = calibrate(dairy, dairy.thermometer, "ice_point", Point(found="-2.5", left="0.1"))
    assert (found.found_ruling, found.left_ruling) == ("breached", "met")
    dairy.thermometer.refresh_from_db()
    assert dairy.thermometer.unfit_on(NOW.date()) is None  # it was adjusted

    doubts = standing_doubts(one.pk for one in [before, *saved])
    assert set(doubts) == {one.pk for one in saved}
    assert {row.ruling for doubt in doubts.values() for row in doubt.rulings.all()} == {"unproven"}
    # Read 2.5 °C too low: 12.8 was 15.3 °C, above the limit of 14
    corrected = {doubt.record_id: doubt.rulings.get().corrected_ruling for doubt in doubts.values()}
    assert corrected[saved[1].pk] == "breached"
    assert corrected[saved[2].pk] == "unproven"  # 14.0 °C, within the thermometer's doubt of the limit
    deviation = Deviation.objects.get()
    assert deviation.control_point.code == "CCP 3"
    assert [one.lot for one in deviation.implicated.all()] == [make.lot]  # the other had left before
    assert Hold.objects.standing().filter(lot=make.lot).exists()

    # Nothing that was sealed has changed, and judging again gives what was given then
    assert list(RulingRow.objects.order_by("pk").values()) == sealed
    assert [verdict.ruling for _limit, verdict in judge_again(saved[0])] == [Ruling.MET]
    assert verify_log(dairy.owner.premises.log).holds
    assert doubts_about([make.lot]) == {}  # records of a room are no records of the lot itself

    # The page of the record says so, and the deviation is one step away
    client = signed_in(dairy.helper)
    page = client.get(reverse("checks:record", args=[saved[1].pk])).content.decode()
    assert "counts as unproven until it is disposed of" in page
    assert "15.3" in page
    page = client.get(reverse("calibration:calibration", args=[found.pk])).content.decode()
    assert page.count(reverse("checks:record", args=[saved[0].pk])) == 1
    assert reverse("checks:record", args=[before.pk]) not in page


def test_doubted_readings_of_a_room_prove_no_days(dairy: Dairy) -> None:
    type(dairy.owner.premises).objects.update(jurisdiction="US")
    type(dairy.product).objects.update(treatment="raw")
    premises = type(dairy.owner.premises).objects.get()
    make = dairy.start_make(at=NOW - 6 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 6 * DAY, place=dairy.room)
    for day in range(6, 0, -1):
        dairy.save("Room 1 temperature", "11.0", at=NOW - day * DAY, instrument_id=dairy.thermometer.id)
        # Beside the plan's check somebody reads the air again: that rests on the same thermometer
        ripening.room_read(
            scope=dairy.maker, reading_id=uuid4(), room_id=dairy.room.pk, read_at=NOW - day * DAY + 6 * HOUR,
            temperature="11.2", temperature_unit="°C", instrument_id=dairy.thermometer.pk,
        )  # fmt: skip
    clock = clock_of(premises, make.lot_id, NOW - HOUR).governing
    assert clock is not None
    assert clock.proven_s >= 5 * 86400
    calibrate(dairy, dairy.thermometer, "ice_point", Point(found="3.0"))
    clock = clock_of(premises, make.lot_id, NOW).governing
    assert clock is not None
    assert clock.proven_s == 0
    assert "was found out later" in clock.stretches[-1].sentence


def test_left_out_of_order_it_does_not_count(dairy: Dairy) -> None:
    calibrate(dairy, dairy.thermometer, "reference", Point(true="20", found="24"), reference="Reference T-1")
    dairy.thermometer.refresh_from_db()
    assert dairy.thermometer.unfit_on(NOW.date()) is not None
    assert dairy.thermometer.unfit_on(NOW.date() - DAY) is None


@pytest.mark.parametrize(
    ("method", "points", "more", "field"),
    [
        ("ice_point", [Point(found="300")], {}, "found-0"),
        ("ice_point", [Point()], {}, "found-0"),
        ("ice_point", [Point(found="0.1")], {"tolerance": "none"}, "tolerance"),
        ("ice_point", [Point(found="0.1")], {"tolerance": "0"}, "tolerance"),
        ("ice_point", [Point(found="0.1")], {"performed_at": NOW + HOUR}, "performed_at"),
        ("ice_point", [Point(found="0.1")], {"valid_until": date(2026, 3, 1)}, "valid_until"),
        ("ice_point", [Point(found="0.1")], {"valid_until": None}, "valid_until"),
        ("reference", [Point(found="11")], {}, "true-0"),
        ("boiling_point", [Point(found="99")], {"altitude": "99999"}, "altitude"),
        ("boiling_point", [Point(found="99")], {"pressure": "10"}, "pressure"),
        ("buffers", [Point(found="1")], {}, "method"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(
    dairy: Dairy, method: str, points: list[Point], more: dict[str, object], field: str
) -> None:
    with pytest.raises(ActionError) as refused:
        calibrate(dairy, dairy.thermometer, method, *points, **more)
    assert field in refused.value.fields
    assert not Calibration.objects.exists()


def test_pages_and_api(dairy: Dairy) -> None:
    client = signed_in(dairy.helper)
    address = reverse("calibration:calibrate", args=[dairy.thermometer.pk, "ice_point"])
    assert "clean crushed ice" in client.get(address).content.decode()
    form = {
        "calibration_id": str(uuid4()), "found-0": "forty", "unit": "°C", "tolerance": "1",
        "performed_at": "2026-03-20T11:00", "valid_until": "2026-06-20",
    }  # fmt: skip
    refused = client.post(address, form)
    assert refused.status_code == 422
    assert 'value="forty"' in refused.content.decode()
    for _ in range(2):
        assert client.post(address, form | {"found-0": "0.2"}).status_code == 302
    assert Calibration.objects.count() == 1
    with pytest.raises(Conflict):
        calibrate(
            dairy, dairy.thermometer, "ice_point", Point(found="0.5"), calibration_id=Calibration.objects.get().pk
        )

    api = f"/api/v1/instruments/{dairy.thermometer.pk}/calibrations/"
    body = {
        "id": str(uuid4()), "method": "ice_point", "performed_at": "2026-03-20T11:30:00Z", "valid_until": "2026-06-20",
        "points": [{"found": "0.1"}], "unit": "°C", "tolerance": "1",
    }  # fmt: skip
    answer = client.post(api, body, content_type="application/json")
    assert answer.status_code == 201, answer.content
    assert len(client.get(api).json()["results"]) == 2
    assert client.get(f"/api/v1/calibrations/{body['id']}/").json()["doubts"] == []

    def cost(url: str) -> int:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(url).status_code == 200
        return len(asked)

    overview, history = reverse("calibration:overview"), reverse("calibration:history", args=[dairy.thermometer.pk])
    few = cost(overview), cost(history)
    for n in range(3):
        calibrate(dairy, dairy.thermometer, "ice_point", Point(found="0.2"), performed_at=NOW - n * DAY)
    assert (cost(overview), cost(history)) == few
    assert stranger().get(history).status_code == 404
    onlooker = reader(dairy)
    assert onlooker.get(history).status_code == 200
    assert onlooker.post(address, form | {"calibration_id": str(uuid4())}).status_code == 403


def test_a_thermometer_says_nothing_of_the_chlorine_beside_it(dairy: Dairy) -> None:
    """Solution temperature and chlorine stand in one record; the thermometer read one of them."""
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Solution too.", at=NOW - 10 * DAY)
    document = read_plan(draft)
    check = next(one for one in document.checks if one.name == "Vat 1 cleaned")
    warm = CriticalLimit(
        control_point=check.control_point, statement="Solution at least 13 °C", quantity="temperature",
        evaluator="reading", comparator="at_least", low=13.0, unit="°C", source_document="Food Code (US), 4-501.114",
    )  # fmt: skip
    plan.part_add(scope=dairy.owner, revision=draft, part=warm)
    plan.part_add(
        scope=dairy.owner,
        revision=draft,
        part=Measure(
            check=check.key, position=3, label="Solution", kind="number", quantity="temperature", unit="°C",
            limits=(warm.key,),
        ),
    )  # fmt: skip
    plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=NOW - 9 * DAY, password=PASSWORD, at=NOW - 9 * DAY
    )
    dairy = replace(dairy, revision=draft)
    saved = dairy.save(
        "Vat 1 cleaned", "120", "yes", "14.0", at=NOW - 3 * DAY, instrument_id=dairy.thermometer.id
    ).record
    calibrate(dairy, dairy.thermometer, "ice_point", Point(found="1.5", left="0.0"))
    later = standing_doubts([saved.pk])[saved.pk].rulings.get()
    assert later.limit.statement == "Solution at least 13 °C"
    assert later.corrected_ruling == "breached"  # 12.5 °C
    before = {row.limit.statement: row.ruling for row in saved.rulings.all()}
    assert len(before) == 2


def test_the_electrode_as_calibrated_before_a_reading_decides_whether_it_counts(dairy: Dairy) -> None:
    """Slopes from 90 to 105 % of Nernst's count: two makers' notes, read. 150 mV over 3 pH at 25 °C is 84.5 %."""

    def buffers(found: str, left: str, *, hours: int) -> Calibration:
        return calibrate(
            dairy, dairy.ph_meter, "buffers", Point(true="7.00", found="0", left=left and "0"),
            Point(true="4.00", found=found, left=left), buffer_temperature="25", valid_until=date(2026, 3, 20),
            performed_at=NOW - hours * HOUR, now=NOW - hours * HOUR,
        )  # fmt: skip

    make = dairy.start_make(at=NOW - 10 * HOUR)
    dairy.event(make, "starter_added", at=NOW - 10 * HOUR)

    def read(hours: float, value: str = "5.30") -> Record:
        at = NOW - hours * HOUR
        return dairy.save("pH of the curd", value, at=at, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id).record

    buffers("177.5", "", hours=9)
    assert read(8).instrument_unfit == ""
    buffers("150", "150", hours=5)
    buffers("150", "175", hours=2)
    assert "was found out on 2026-03-20" in read(7.5).instrument_unfit  # read before, entered after
    assert "left out of order" in read(4).instrument_unfit  # written up after it was mended, but read before
    assert read(1).instrument_unfit == ""
    assert "outside the buffers" in read(0.9, "3.2").instrument_unfit
    assert "calibrated only after it" in read(9.5).instrument_unfit
    counted = read(0.5)
    page = signed_in(dairy.helper).get(reverse("checks:record", args=[counted.pk])).content.decode()
    assert "slope 98.6 % of Nernst’s, offset +0.0 mV" in page


def test_a_reading_after_the_last_day_of_the_buffers_does_not_count(dairy: Dairy) -> None:
    calibrate(
        dairy, dairy.ph_meter, "buffers", Point(true="7.00", found="0"), Point(true="4.00", found="177.5"),
        buffer_temperature="25", valid_until=date(2026, 3, 19), performed_at=NOW - 1.5 * DAY,
    )  # fmt: skip
    make = dairy.start_make(at=NOW - 3 * HOUR)
    saved = dairy.save("pH of the curd", "5.3", at=NOW, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id).record
    assert "ran out on 2026-03-19" in saved.instrument_unfit


def test_what_was_read_besides_the_checks_is_in_doubt_too_until_it_is_disposed_of(dairy: Dairy) -> None:
    """The dairy read nothing else with this thermometer: no record of a check exists. That the
    validity of earlier results is looked into when an instrument is unfit: ISO 9001:2015, 7.1.5.2, from memory."""
    dairy.write_procedure(at=NOW - 9 * DAY)
    milk = dairy.receive_milk(at=NOW - 6 * DAY)
    make = dairy.start_make(at=NOW - 6 * DAY + HOUR, milk=milk)
    dairy.event(make, "placed_in_room", at=NOW - 5 * DAY, place=dairy.room)
    calibrate(dairy, dairy.thermometer, "ice_point", Point(found="0.2"), performed_at=NOW - 8 * DAY)
    probe, at = dairy.thermometer.pk, NOW - 6 * DAY
    [arrival] = findings_record(
        scope=dairy.maker,
        lot_id=milk.pk,
        findings=[FindingTyped(uuid4(), "temperature", "4.0", at, "°C", instrument_id=probe)],
    )
    assert make.procedure is not None
    mark = stage_record(
        scope=dairy.maker,
        mark_id=uuid4(),
        make_id=make.pk,
        stage_id=make.procedure.stages.get(kind="warm").pk,
        what="done",
        at=at + 2 * HOUR,
        readings=[ReadingTyped("temperature", "32", "°C", probe)],
    )
    air = ripening.room_read(
        scope=dairy.maker, reading_id=uuid4(), room_id=dairy.room.pk, read_at=NOW - 4 * DAY, temperature="12",
        instrument_id=probe,
    )  # fmt: skip
    assert not Record.objects.filter(instrument=probe).exists()

    found = calibrate(dairy, dairy.thermometer, "ice_point", Point(found="-2.5", left="0.1"))
    rows = {row.source: row for row in DoubtedReading.objects.filter(calibration=found)}
    assert {key: row.about for key, row in rows.items()} == {
        "milk finding": arrival.pk, "stage reading": mark.readings.get().pk, "air reading": air.pk,
    }  # fmt: skip
    assert all(row.deviation is not None and row.deviation.cause == "instrument" for row in rows.values())
    opened = [row.deviation for row in rows.values() if row.deviation is not None]
    touched = {lot for one in opened for lot in one.implicated.values_list("lot", flat=True)}
    assert {milk.pk, make.lot_id} <= touched
    assert verify_log(dairy.owner.premises.log).holds

    # Unproven where it is shown, and at the gate; nothing that was sealed has changed
    [shown] = findings_of(milk)
    assert "found out" in shown.unfit
    reading = next(one for state in sheet_of(make, NOW).stages for one in state.readings)
    assert "found out" in reading.unfit
    gate = gate_of(dairy.owner, make.lot, NOW)
    for words in ("temperature 4.0 °C", "temperature 32 °C"):
        assert any(words in point.words for point in gate.unproven)
    page = signed_in(dairy.helper).get(reverse("calibration:calibration", args=[found.pk])).content.decode()
    for row in rows.values():
        assert row.words[0].upper() + row.words[1:] in page

    # A closed deviation disposes of it
    for deviation in Deviation.objects.filter(cause="instrument"):
        signature = ledger.sign(
            log_id=dairy.owner.log_id, signer_id=str(dairy.owner.user.id), printed_name=dairy.owner.user.name,
            meaning="deviation.closed", statement="Disposed of.", content={"deviation": str(deviation.pk)},
            method="password", at=NOW,
        )  # fmt: skip
        Closure.objects.create(deviation=deviation, signature=signature, closed_by=dairy.owner.user, closed_at=NOW)
    assert not any("found out" in point.words for point in gate_of(dairy.owner, make.lot, NOW).unproven)
    assert not findings_of(milk)[0].unfit


def test_a_reading_found_out_later_reaches_no_acidity(dairy: Dairy) -> None:
    """It was met by this reading alone; the next one is judged without it, as is the curve and the paper."""
    make = dairy.start_make(at=NOW - 6 * HOUR)
    dairy.event(make, "starter_added", at=NOW - 6 * HOUR)

    def read(hours: float, value: str) -> Record:
        return dairy.save(
            "pH of the curd", value, at=NOW - hours * HOUR, lot_id=make.lot_id, instrument_id=probe
        ).record

    probe = dairy.ph_meter.pk
    first = read(4, "5.20")
    assert first.rulings.get().ruling == "met"
    alone = read(3.5, "5.55")  # still leans on the first, which nobody doubts yet
    assert alone.rulings.get().ruling == "met"
    calibrate(
        dairy, dairy.ph_meter, "buffers", Point(true="7.00", found="0", left="0"),
        Point(true="4.00", found="150", left="177"), buffer_temperature="25", valid_until=date(2026, 3, 21),
        performed_at=NOW - 3 * HOUR, now=NOW - 3 * HOUR,
    )  # fmt: skip
    later = read(2, "5.60")
    assert later.rulings.get().ruling == "awaited"
    # Judged again, each says what it said: by what was known then
    for record in (first, alone, later):
        assert [one.ruling.value for _limit, one in judge_again(record)] == [record.rulings.get().ruling]

    page = signed_in(dairy.helper).get(reverse("making:batch", args=[make.pk])).content.decode()
    described = page[page.index("pH since starter added: ") :]
    assert described.startswith("pH since starter added: pH 5.60 after 4 h. Limits")
    yesterday, today = NOW.date() - DAY, NOW.date()
    asked = period_for(dairy.owner.premises, yesterday, today, asked_by=dairy.owner.user, asked_at=NOW, site="")
    [curve] = acidity_curves(scope_of(asked))
    assert [value for _at, value in curve.points] == [5.60]
    assert [shown for _at, shown in curve.left_out] == ["pH 5.20", "pH 5.55"]


def test_what_no_check_asks_for_falls_to_the_programme_of_calibration(dairy: Dairy) -> None:
    """The milk's temperature when it is warmed is no heat treatment; its pH is that of the batch."""
    premises = dairy.owner.premises
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Instruments too.", at=NOW - 10 * DAY)
    programme = plan.ControlPointDraft(
        code="PRP 9", name="Instruments", kind="prerequisite", programme="calibration", corrective_action="Calibrate.",
        limits=[], checks=[],
    )  # fmt: skip
    plan.control_point_add(scope=dairy.owner, revision=draft, draft=programme)
    plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=NOW - 9 * DAY, password=PASSWORD, at=NOW - 9 * DAY
    )
    lot = dairy.start_make(at=NOW - DAY).lot
    points = FittingPoints(premises, NOW)

    def code(quantity: str, **of: object) -> str:
        found = points.of(Resting(uuid4(), "it", quantity, NOW, **of))
        assert found is not None
        return found.code

    assert code("temperature", lot=lot, since=()) == "PRP 9"
    assert code("temperature", lot=lot, since=("make_started",)) == "CCP 1"
    assert code("ph", lot=lot) == "CCP 2"
    assert code("temperature", place=dairy.room) == "CCP 3"
    assert code("mass", lot=lot) == "PRP 9"
