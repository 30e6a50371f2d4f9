"""Days of a small dairy's life, told through the actions, for packs to show."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import numpy as np

from batches.making.models import Make
from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DueCheck, MissedCheck, Record
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.deviations.queries import guide
from haccp.lots.kinds import EventKind
from tests.dairy import PASSWORD, Dairy

FIRST_DAY = datetime(2026, 3, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)


def recorder_csv(start: datetime, *, hold_c: float = 63.8, seconds: int = 2700) -> bytes:
    """One sample a second of milk and air: come-up, hold, cool-down."""
    t = np.arange(0.0, seconds, 5.0)
    milk = np.interp(t, [0, 500, 560, seconds - 120, seconds], [14, hold_c - 0.4, hold_c, hold_c, 48])
    milk = milk + 0.08 * np.sin(t / 7)
    air = np.interp(t, [0, 500, 560, seconds - 120, seconds], [20, 66.5, 67.2, 67.0, 60]) + 0.2 * np.sin(t / 5)
    lines = ["time;product C;air space C"]
    for second, a, b in zip(t, milk, air, strict=True):
        lines.append(f"{start + timedelta(seconds=float(second)):%Y-%m-%d %H:%M:%S};{a:.2f};{b:.2f}")
    return "\n".join(lines).encode()


def due_id(name: str, at: datetime, *, lot_id: UUID | None = None) -> UUID | None:
    """The check of that name that may be done at this moment."""
    open_then = DueCheck.objects.unsettled().filter(check_due__name=name, opens_at__lte=at, grace_ends_at__gte=at)
    due = open_then.filter(lot=lot_id).order_by("due_at").first()
    return due.id if due else None


def do(dairy: Dairy, name: str, *values: str, at: datetime, **more: object) -> Record:
    """Does the check that is due then."""
    due = due_id(name, at, lot_id=more.get("lot_id"))  # type: ignore[arg-type]
    return dairy.save(name, *values, at=at, due_id=due, **more).record


def heat(dairy: Dairy, make: Make, at: datetime, *, hold_c: float = 63.8) -> Record:
    trace = checks.trace_store_file(
        scope=dairy.maker,
        trace_id=uuid4(),
        filename=f"vat-{at:%d%m}.csv",
        data=recorder_csv(at, hold_c=hold_c),
        lot_id=make.lot_id,
        now=at + HOUR,
    )
    return do(
        dairy,
        "Heat treatment",
        at=at + timedelta(minutes=46),
        trace_id=trace.id,
        trace_roles=dict.fromkeys(trace.roles, "product") | {list(trace.roles)[1]: "air_space"},
        lot_id=make.lot_id,
        instrument_id=dairy.recorder.id,
    )


def make_day(dairy: Dairy, day: datetime, *, last_ph: str = "5.25", hold_c: float = 63.8) -> Make:
    """Milk in, heat treatment, starter, three readings of pH, into the room."""
    make = dairy.start_make(at=day + 7 * HOUR)
    do(
        dairy,
        "Milk acceptance",
        "4.2",
        "negative",
        at=day + 6.2 * HOUR,
        lot_id=make.lot.links_in.get().parent_id,
        instrument_id=dairy.thermometer.id,
    )
    heat(dairy, make, day + 7 * HOUR, hold_c=hold_c)
    dairy.event(make, EventKind.STARTER_ADDED, at=day + 8 * HOUR)
    dairy.event(make, EventKind.RENNET_ADDED, at=day + 8.7 * HOUR)
    for hours, ph in ((2, "6.30"), (4, "5.70"), (6, last_ph)):
        do(
            dairy,
            "pH of the curd",
            ph,
            at=day + (8 + hours) * HOUR,
            lot_id=make.lot_id,
            instrument_id=dairy.ph_meter.id,
        )
    dairy.event(make, EventKind.PLACED_IN_ROOM, at=day + 20 * HOUR, place=dairy.room)
    return make


def room_round(dairy: Dairy, day: datetime, *, top: str = "11.0", note: str = "") -> Record:
    at = day + 8.2 * HOUR
    return do(dairy, "Room 1 temperature", top, "11.6", at=at, instrument_id=dairy.thermometer.id, note=note)


def cleaning(dairy: Dairy, day: datetime, *, chlorine: str = "120") -> Record:
    return do(dairy, "Vat 1 cleaned", chlorine, "yes", at=day + 17.1 * HOUR)


def amend_room(dairy: Dairy, record: Record, *, top: str, reason: str) -> Record:
    at = record.observed_at
    return checks.record_amend(
        scope=dairy.owner,
        record_id=uuid4(),
        amends_id=record.id,
        entries=dairy.entries("Room 1 temperature", top, "11.6"),
        observed_at=at,
        reason=reason,
        now=at + 3 * HOUR,
    ).record


def give_reasons(dairy: Dairy, text: str, now: datetime) -> None:
    for missed in MissedCheck.objects.filter(reason__isnull=True, due__premises=dairy.owner.premises):
        checks.missed_reason_give(scope=dairy.helper, missed_id=missed.id, text=text, now=now)


def close(dairy: Dairy, deviation: Deviation, at: datetime, text: str = "The door had been left open.") -> None:
    def step(kind: str, **more: object) -> None:
        deviations.step_add(
            scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.id, kind=kind, text=text, now=at, **more
        )

    for kind in ("cause", "correction", "prevention", "reassessment"):
        step(kind)
    for one in deviation.implicated.all():
        step("disposition", lot_id=one.lot_id, disposition="release")
    deviations.deviation_close(
        scope=dairy.owner,
        deviation_id=deviation.id,
        password=PASSWORD,
        seen_sha256=guide(deviation).content_sha256,
        now=at,
    )


def sign_day(dairy: Dairy, day: datetime, *, reviewed: bool = True) -> None:
    at = day + 22 * HOUR
    for scope, meaning in ((dairy.helper, "signed_off"), (dairy.owner, "reviewed"))[: 1 + reviewed]:
        book = day_book(dairy.owner.premises, day.date())
        checks.day_sign(
            scope=scope,
            day=day.date(),
            meaning=meaning,
            password=PASSWORD,
            seen_sha256=book.content_sha256,
            now=at,
        )


def eventful_week(dairy: Dairy, *, first: datetime = FIRST_DAY, days: int = 7, closed: int = 2) -> None:
    """Something of everything: makes, a slow acidification, a warm room, an amendment, missed checks, signatures."""
    for n in range(days):
        day = first + timedelta(days=n)
        checks.sweep(now=day + 5 * HOUR)
        make_day(dairy, day, last_ph="5.62" if n == 3 else "5.22", hold_c=62.4 if n == 4 else 63.8)
        if n != 2:
            record = room_round(dairy, day, top="15.4" if n == 1 else "11.0")
            if n == 5:
                amend_room(dairy, record, top="11.9", reason="Read the wrong shelf first.")
        cleaning(dairy, day)
        checks.sweep(now=day + 21 * HOUR)
        give_reasons(dairy, "Nobody was in the dairy; the calf came early.", day + 21.5 * HOUR)
        if n not in (0, 6):
            sign_day(dairy, day, reviewed=n % 2 == 1)
    for deviation in Deviation.objects.order_by("number")[:closed]:
        close(dairy, deviation, first + timedelta(days=days - 1, hours=22))
