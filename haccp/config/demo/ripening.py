"""Care of the cheeses, their weights, samples, and a calibration now and then."""

from datetime import date, datetime, timedelta
from uuid import UUID

from batches.laboratory import actions as laboratory
from batches.laboratory.models import SampleTest
from batches.ripening import actions as ripening
from haccp.calibration import actions as calibration
from haccp.calibration.measuring import PointTyped
from haccp.config.demo.agenda import Act, Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.local_days import at, chance
from haccp.lots.models import Lot
from haccp.lots.queries import in_place_between
from haccp.premises.models import Place

WEIGHED_AT_DAYS = (2, 9, 16, 23)
WHEEL_KG = {"AS": 1.9, "RE": 3.4}  # as it goes into the room
LOSES_PER_DAY = {"AS": 0.0065, "RE": 0.0035}
LABORATORY = "Rushfield Food Laboratory (invented)"
SAMPLED_AT_DAYS = 12
RESULT_AFTER_DAYS = 5


def set_rhythms(dairy: Dairy) -> None:
    for product, every_days in ((dairy.products.hard, 3), (dairy.products.washed, 2)):
        ripening.rhythm_set(scope=dairy.staff.owner, product_id=product.id, kind="turned", every_days=every_days)


def add_care(dairy: Dairy, agenda: Agenda, day: date) -> None:
    """The cellar is turned every third day, the cave every second; once the helper was away, and it shows."""
    n = (dairy.today - day).days
    for place, every, phase in ((dairy.places.cellar, 3, 0), (dairy.places.cave, 2, 1)):
        if n % every == phase and n not in (8, 9):
            done_at = at(day, 16, 10) + timedelta(minutes=chance("care", place.name, day).randint(0, 25))
            agenda.add(done_at + timedelta(minutes=1), _turn(dairy, day, place, done_at))


def _turn(dairy: Dairy, day: date, place: Place, done_at: datetime) -> Act:
    def turn(now: datetime) -> None:
        if not any(lot.kind == Lot.Kind.BATCH for lot in _inside(place, done_at)):
            return
        ripening.care_give(
            scope=dairy.staff.helper,
            care_id=dairy.new_id("care", place.name, day),
            kind="turned",
            done_at=done_at,
            room_id=place.id,
            now=now,
        )

    return turn


def _inside(place: Place, moment: datetime) -> list[Lot]:
    return in_place_between(place, moment, moment)


def add_weighings(dairy: Dairy, agenda: Agenda, day: date, code: str, lot_id: UUID) -> None:
    """Three wheels of a batch, once a week on the same scale."""
    if code not in WHEEL_KG:
        return
    for days in WEIGHED_AT_DAYS:
        weighed_at = at(day + timedelta(days=days), 15, 40)
        kg = 3 * WHEEL_KG[code] * (1 - LOSES_PER_DAY[code]) ** days * chance("wheel", day).uniform(0.97, 1.03)
        agenda.add(weighed_at + timedelta(minutes=1), _weigh(dairy, lot_id, days, kg, weighed_at))


def _weigh(dairy: Dairy, lot_id: UUID, days: int, kg: float, weighed_at: datetime) -> Act:
    def weigh(now: datetime) -> None:
        ripening.weigh(
            scope=dairy.staff.helper,
            weighing_id=dairy.new_id("weighing", lot_id, days),
            lot_id=lot_id,
            mass=f"{kg:.2f}",
            unit="kg",
            pieces=3,
            weighed_at=weighed_at,
            instrument_id=dairy.instruments.scale.id,
            now=now,
        )

    return weigh


def add_sample(dairy: Dairy, agenda: Agenda, day: date, lot_id: UUID) -> None:
    """One batch in three goes to the laboratory; its results come some days later."""
    if day.toordinal() % 3:
        return
    taken_at = at(day + timedelta(days=SAMPLED_AT_DAYS), 9, 20)
    agenda.add(taken_at + timedelta(minutes=2), _take(dairy, day, lot_id, taken_at))
    reported_at = taken_at + timedelta(days=RESULT_AFTER_DAYS)
    agenda.add(reported_at + timedelta(minutes=30), _report(dairy, day, reported_at))


def _take(dairy: Dairy, day: date, lot_id: UUID, taken_at: datetime) -> Act:
    def take(now: datetime) -> None:
        laboratory.sample_take(
            scope=dairy.staff.maker,
            sample_id=dairy.new_id("sample", day),
            laboratory=LABORATORY,
            tests=[
                laboratory.TestAsked(
                    kind="count", parameter="Coagulase-positive staphylococci", n=5, c=2, m=100, largest=1000,
                    unit="cfu/g", source="Regulation (EC) 2073/2005, Annex I, chapter 2.2, row 2.2.4",
                ),
                laboratory.TestAsked(
                    kind="absence", parameter="Listeria monocytogenes", n=5, absent_in="25 g",
                    source="Regulation (EC) 2073/2005, Annex I, chapter 1, row 1.2",
                ),
                laboratory.TestAsked(kind="quantity", parameter="moisture", unit="%"),
                laboratory.TestAsked(kind="quantity", parameter="salt", unit="%"),
            ],
            taken_at=taken_at,
            lot_id=lot_id,
            now=now,
        )  # fmt: skip

    return take


def _report(dairy: Dairy, day: date, reported_at: datetime) -> Act:
    def report(now: datetime) -> None:
        throw = chance("laboratory", day)
        counts = [throw.choice(["< 10", "< 10", "20", "40", "60", "110"]) for _ in range(5)]
        values = [counts, ["not detected"] * 5, [f"{throw.uniform(43, 47):.1f}"], [f"{throw.uniform(1.4, 1.8):.2f}"]]
        for test in SampleTest.objects.filter(sample=dairy.new_id("sample", day)).order_by("position"):
            laboratory.result_enter(
                scope=dairy.staff.maker,
                result_id=dairy.new_id("result", day, test.position),
                test_id=test.pk,
                values=values[test.position],
                reported_at=reported_at,
                method={0: "ISO 6888-2", 1: "ISO 11290-1"}.get(test.position, ""),
                report_number=f"R-{day:%y%m%d}",
                now=now,
            )

    return report


def add_calibrations(dairy: Dairy, agenda: Agenda, first_day: date) -> None:
    """The probe thermometer in melting ice three weeks ago, and the pH meter in its buffers last week."""
    iced_at, buffered_at = at(dairy.today - timedelta(days=21), 15, 30), at(dairy.today - timedelta(days=6), 7, 10)
    if iced_at >= at(first_day, 0):
        agenda.add(iced_at + timedelta(minutes=5), lambda now: _ice(dairy, iced_at, now))
    if buffered_at >= at(first_day, 0):
        agenda.add(buffered_at + timedelta(minutes=5), lambda now: _buffers(dairy, buffered_at, now))


def _ice(dairy: Dairy, performed_at: datetime, now: datetime) -> None:
    calibration.instrument_calibrate(
        scope=dairy.staff.maker,
        calibration_id=dairy.new_id("ice point"),
        instrument_id=dairy.instruments.thermometer.id,
        method="ice_point",
        performed_at=performed_at,
        points=[PointTyped(found="0.2")],
        unit="°C",
        tolerance="0.5",
        valid_until=dairy.today + timedelta(days=70),
        now=now,
    )


def _buffers(dairy: Dairy, performed_at: datetime, now: datetime) -> None:
    calibration.instrument_calibrate(
        scope=dairy.staff.maker,
        calibration_id=dairy.new_id("buffers"),
        instrument_id=dairy.instruments.ph_meter.id,
        method="buffers",
        performed_at=performed_at,
        points=[PointTyped(true="7.00", found="-4"), PointTyped(true="4.01", found="168")],
        buffer_temperature="20",
        valid_until=dairy.today + timedelta(days=30),
        now=now,
    )
