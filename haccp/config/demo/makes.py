"""The makes: one a day but Sundays, each by its vat sheet, from the milk to the ripening room."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from batches.intake.models import MilkLot
from batches.intake.queries import left_l
from batches.making import actions as making
from batches.ripening import actions as ripening
from haccp.checks import actions as checks
from haccp.checks.models import DueCheck
from haccp.config.demo.agenda import Act, Agenda
from haccp.config.demo.brine import brine_id
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.incidents import Incidents, made_on
from haccp.config.demo.local_days import at, chance
from haccp.config.demo.milk import lots_for_make
from haccp.config.demo.plan import names
from haccp.config.demo.procedures import noted, sees_flocculation, weighs
from haccp.config.demo.recorder_files import Treatment, write_file
from haccp.config.demo.ripening import add_sample, add_weighings
from haccp.lots.kinds import EventKind
from haccp.plan.models import Product
from haccp.premises.models import Place

Kind = EventKind
STARTS = (7, 45)


@dataclass(frozen=True, slots=True)
class _Step:
    """minutes: after the start of the make; days: on a later day at this many minutes after the start's hour."""

    kind: str
    minutes: int
    days: int = 0


@dataclass(frozen=True, slots=True)
class _Sheet:
    steps: tuple[_Step, ...]
    into_room_after_days: int
    heating: str | None = None  # name of the check that takes the recorder's file


SHEETS = {
    "RE": _Sheet(
        (
            _Step(Kind.STARTER_ADDED, 40),
            _Step(Kind.RENNET_ADDED, 85),
            _Step(Kind.CUT, 125),
            _Step(Kind.DRAINED, 210),
            _Step(Kind.MOULDED, 235),
            _Step(Kind.PRESSED, 265),
            _Step(Kind.SALTED, 110, days=1),
        ),
        3,
    ),
    "LC": _Sheet(
        (
            _Step(Kind.STARTER_ADDED, 150),
            _Step(Kind.RENNET_ADDED, 180),
            _Step(Kind.MOULDED, 20, days=1),
            _Step(Kind.DRAINED, 380, days=1),
            _Step(Kind.SALTED, 60, days=2),
        ),
        3,
        names.PASTEURISATION,
    ),
    "AS": _Sheet(
        (
            _Step(Kind.STARTER_ADDED, 80),
            _Step(Kind.RENNET_ADDED, 130),
            _Step(Kind.CUT, 175),
            _Step(Kind.DRAINED, 260),
            _Step(Kind.MOULDED, 280),
            _Step(Kind.SALTED, 135, days=1),
        ),
        2,
        names.THERMISATION,
    ),
}
LACTIC_LEAVES_AFTER_DAYS = 14
BRINED = ("AS",)
YIELDS = {"RE": 18.5, "LC": 16.2, "AS": 11.4}  # kg of cheese for 100 L of milk


def batch_id(dairy: Dairy, day: date) -> UUID:
    return dairy.new_id("batch", day)


def add_make(dairy: Dairy, agenda: Agenda, incidents: Incidents, day: date) -> None:
    """Adds the make of a day, all its events and where its cheeses go, to the agenda."""
    code = made_on(day)
    if code is None:
        return
    sheet = SHEETS[code]
    started_at = at(day, *STARTS) + timedelta(minutes=chance("start", day).randint(-4, 9))
    agenda.add(started_at + timedelta(minutes=1), _start(dairy, code, day, started_at))
    if sheet.heating:
        _add_heating(dairy, agenda, incidents, sheet.heating, day, started_at)
    for step in sheet.steps:
        late = timedelta(minutes=chance("step", day, step.kind).randint(0, 8))
        occurred_at = at(day + timedelta(days=step.days), *STARTS) + timedelta(minutes=step.minutes) + late
        agenda.add(occurred_at + timedelta(minutes=1), _event(dairy, day, step.kind, occurred_at))
        if step.kind == Kind.RENNET_ADDED:
            seen_at = occurred_at + timedelta(minutes=chance("flocculation", day).randint(11, 16))
            agenda.add(seen_at, sees_flocculation(dairy, batch_id(dairy, day), day))
    weighed_at = at(day + timedelta(days=2), 10, 20)
    agenda.add(weighed_at, weighs(dairy, batch_id(dairy, day), day, YIELDS[code]))
    _add_moves(dairy, agenda, incidents, code, day)
    add_weighings(dairy, agenda, day, code, batch_id(dairy, day))
    if code == "AS":
        add_sample(dairy, agenda, day, batch_id(dairy, day))


def _product(dairy: Dairy, code: str) -> Product:
    return {"RE": dairy.products.hard, "LC": dairy.products.lactic, "AS": dairy.products.washed}[code]


def _vat(dairy: Dairy, code: str) -> Place:
    return dairy.places.vat_2 if code == "LC" else dairy.places.vat_1


def _start(dairy: Dairy, code: str, day: date, started_at: datetime) -> Act:
    def start(now: datetime) -> None:
        milk = MilkLot.objects.filter(pk__in=lots_for_make(dairy, day)).select_related("lot")
        making.make_start(
            scope=dairy.staff.maker,
            lot_id=batch_id(dairy, day),
            product_id=_product(dairy, code).id,
            vat_id=_vat(dairy, code).id,
            milk_l={one.lot_id: left_l(one) for one in milk},
            started_at=started_at,
            now=now,
        )

    return start


def _event(dairy: Dairy, day: date, kind: str, occurred_at: datetime) -> Act:
    def happen(now: datetime) -> None:
        brine = brine_id(dairy) if kind == Kind.SALTED and made_on(day) in BRINED else None
        if noted(dairy, batch_id(dairy, day), kind, day, occurred_at, now, brine_id=brine):
            return
        checks.event_record(
            scope=dairy.staff.maker,
            lot_id=batch_id(dairy, day),
            kind=kind,
            occurred_at=occurred_at,
            event_id=dairy.new_id(kind, day),
            now=now,
        )

    return happen


def _add_moves(dairy: Dairy, agenda: Agenda, incidents: Incidents, code: str, day: date) -> None:
    room = dairy.places.cellar if code == "RE" else dairy.places.cave
    days = SHEETS[code].into_room_after_days
    if day == incidents.slow_make:
        room, days = dairy.places.cold_store, 1  # kept apart from the others
    agenda.add(at(day + timedelta(days=days), 10, 35), _place(dairy, day, room, at(day + timedelta(days=days), 10, 30)))
    if code == "LC":
        left_at = at(day + timedelta(days=LACTIC_LEAVES_AFTER_DAYS), 14)
        agenda.add(left_at + timedelta(minutes=2), _event(dairy, day, Kind.LEFT_ROOM, left_at))


def _place(dairy: Dairy, day: date, room: Place, moved_at: datetime) -> Act:
    def move(now: datetime) -> None:
        ripening.batch_place(
            scope=dairy.staff.helper,
            lot_id=batch_id(dairy, day),
            room_id=room.id,
            moved_at=moved_at,
            event_id=dairy.new_id("room", day),
            now=now,
        )

    return move


def treatment_of(check_name: str, day: date, *, loose_plug: bool) -> Treatment:
    """What the vat did that day. Now and then the hold ends before its target, which still meets the limit."""
    throw = chance("heat", day)
    if check_name == names.PASTEURISATION:
        hold_s = 1830 if throw.random() < 0.2 else throw.randint(1960, 2160)
        return Treatment(round(throw.uniform(9, 13), 1), 63.7, 24.0, throw.randint(1500, 1800), hold_s + 60, 1200)
    hold_s = 92 if loose_plug else throw.randint(105, 150)
    return Treatment(
        round(throw.uniform(9, 13), 1),
        65.0,
        33.0,
        throw.randint(1200, 1320),
        hold_s,
        1500,
        gap=(-5, 62) if loose_plug else None,
    )


def _add_heating(
    dairy: Dairy, agenda: Agenda, incidents: Incidents, check_name: str, day: date, started_at: datetime
) -> None:
    treatment = treatment_of(check_name, day, loose_plug=day == incidents.loose_plug)
    heated_at = started_at + timedelta(minutes=2)
    ended_at = heated_at + timedelta(seconds=treatment.duration_s)
    agenda.add(ended_at + timedelta(minutes=4), _record_heating(dairy, check_name, day, treatment, heated_at))


def _record_heating(dairy: Dairy, check_name: str, day: date, treatment: Treatment, heated_at: datetime) -> Act:
    def record(now: datetime) -> None:
        due = DueCheck.objects.select_related("check_due", "lot").get(
            lot_id=batch_id(dairy, day), check_due__name=check_name
        )
        assert due.lot is not None
        data = write_file(
            treatment,
            vat="Vat 2" if check_name == names.PASTEURISATION else "Vat 1",
            batch=due.lot.code,
            started_at=heated_at,
            decimal_comma=check_name == names.PASTEURISATION,
            seed=day.toordinal(),
        )
        trace = checks.trace_store_file(
            scope=dairy.staff.maker,
            trace_id=dairy.new_id("trace", day),
            data=data,
            filename=f"{due.lot.code}.csv",
            lot_id=due.lot_id,
            now=now,
        )
        saved = dairy.record(dairy.staff.maker, due, {}, observed_at=heated_at, now=now, trace_id=trace.id)
        _beside_the_recorder(dairy, check_name, day, treatment, heated_at, saved.record.pk, now)

    return record


def _beside_the_recorder(
    dairy: Dairy,
    check_name: str,
    day: date,
    treatment: Treatment,
    heated_at: datetime,
    record_id: UUID,
    now: datetime,
) -> None:
    """The sheet of the vat: how it was treated, and the other thermometer at the start and the end of the hold."""
    began_at = heated_at + timedelta(seconds=treatment.heating_s)
    read_at = (began_at, began_at + timedelta(seconds=treatment.hold_s))
    throw = chance("thermometer", day)
    making.heat_sheet_save(
        scope=dairy.staff.maker,
        sheet_id=dairy.new_id("heat", day),
        record_id=record_id,
        process="batch" if check_name == names.PASTEURISATION else "thermisation",
        fat="3.9",
        thermometer_id=dairy.instruments.thermometer.id,
        thermometers=[
            making.ThermometerTyped(n, moment, f"{treatment.hold_c + throw.uniform(0.3, 0.5):.1f}")
            for n, moment in enumerate(read_at, start=1)
        ],
        now=now,
    )
