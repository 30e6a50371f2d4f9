"""A batch brought to the gate as people bring it: every check done and met, the days signed and reviewed."""

from datetime import date, datetime, timedelta
from uuid import uuid4

from batches.making.models import Make
from batches.release import actions as release
from batches.release.gate import gate_of
from batches.release.models import Release
from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DueCheck, PlanningMark
from tests.dairy import HOUR, PASSWORD, Dairy


def recording(started_at: datetime) -> bytes:
    """40 min just above 65 °C, one sample every 10 s, in UTC (the dairy's own zone in winter)."""
    lines = ["Time,Milk (°C)"]
    for at in range(0, 2410, 10):
        lines.append(f"{started_at + timedelta(seconds=at):%Y-%m-%d %H:%M:%S},{65 + at % 70 / 100:.2f}")
    return "\n".join(lines).encode()


def made_and_met(dairy: Dairy, *, at: datetime) -> Make:
    """Milk at 6 °C, the vat cleaned, heated, soured in time: every record there and met."""
    dairy.save("Vat 1 cleaned", "150", "yes", at=at - 2 * HOUR)
    milk = dairy.receive_milk(at=at - HOUR)
    make = dairy.start_make(at=at, milk=milk)
    dairy.event(make, "starter_added", at=at + HOUR)
    trace = checks.trace_store_file(
        scope=dairy.maker,
        trace_id=uuid4(),
        data=recording(at),
        filename="vat.csv",
        lot_id=make.lot_id,
        now=at + HOUR,
    )
    values: dict[str, tuple[str, ...]] = {"Milk acceptance": ("6.0", "negative"), "pH of the curd": ("5.10",)}
    instruments = {
        "Milk acceptance": dairy.thermometer,
        "pH of the curd": dairy.ph_meter,
        "Heat treatment": dairy.recorder,
    }
    for due in DueCheck.objects.filter(lot__in=[milk.lot, make.lot]).order_by("due_at"):
        name = due.check_due.name
        file = {"trace_id": trace.id} if name == "Heat treatment" else {}
        dairy.save(
            name,
            *values.get(name, ()),
            at=due.due_at,
            lot_id=due.lot_id,
            due_id=due.id,
            instrument_id=instruments[name].id,
            **file,
        )
    return make


def sign_day(dairy: Dairy, day: date, *, now: datetime) -> None:
    """The helper signs it off, the maker reviews it. The rounds of the clock are no matter here: none are due."""
    PlanningMark.objects.get_or_create(
        premises=dairy.owner.premises, defaults={"planned_until": now + timedelta(days=30)}
    )
    for scope, meaning in ((dairy.helper, "signed_off"), (dairy.maker, "reviewed")):
        checks.day_sign(
            scope=scope,
            day=day,
            meaning=meaning,
            password=PASSWORD,
            seen_sha256=day_book(dairy.owner.premises, day).content_sha256,
            now=now,
        )


def ready_batch(dairy: Dairy, *, at: datetime) -> Make:
    """Made and met, its day signed the same evening (at must be early in the day)."""
    make = made_and_met(dairy, at=at)
    sign_day(dairy, dairy.owner.premises.local_date(at), now=at + 12 * HOUR)
    return make


def released(dairy: Dairy, make: Make, *, now: datetime) -> Release:
    gate = gate_of(dairy.owner, make.lot, now)
    return release.batch_release(
        scope=dairy.owner,
        release_id=uuid4(),
        lot_id=make.lot_id,
        password=PASSWORD,
        seen_sha256=gate.content_sha256,
        now=now,
    )
