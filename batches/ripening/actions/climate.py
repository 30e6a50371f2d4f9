"""What the air of a room is like: read by a person, or written by a logger."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.ripening import sealing
from batches.ripening.models import RoomLog, RoomReading
from batches.ripening.overview import pack_overview, samples_of
from haccp.checks import trace_store
from haccp.checks.models import TraceFile
from haccp.checks.reliability import fitness
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.atmosphere import STANDARD_PA
from haccp.science.climate.psychrometry import Psychrometer, relative_humidity
from haccp.science.errors import InputError
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
LODGING = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)
# Air as it may be in a room for cheese; beyond it somebody mistyped or the logger lay elsewhere
COLDEST_C, WARMEST_C = -25.0, 60.0


@dataclass(frozen=True, slots=True)
class ChannelSaid:
    """A channel of a logger's file and what a person says that it measures."""

    channel: str
    quantity: str
    label: str


@transaction.atomic
def room_read(
    *,
    scope: Scope,
    reading_id: UUID,
    room_id: UUID,
    read_at: datetime,
    temperature: str = "",
    temperature_unit: str = "°C",
    wet_bulb: str = "",
    humidity: str = "",
    psychrometer: str = "ASPIRATED",
    pressure: str = "",
    instrument_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> RoomReading:
    """The air of a room: temperature, humidity or both; from a dry and a wet bulb the humidity is computed.

    Everything as typed; pressure in hPa, standard where left empty. Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    typed = {
        name: text.strip()
        for name, text in (
            ("temperature", temperature),
            ("unit", temperature_unit),
            ("wet_bulb", wet_bulb),
            ("humidity", humidity),
            ("psychrometer", psychrometer if wet_bulb.strip() else ""),
            ("pressure", pressure),
        )
        if text.strip()
    }
    there = RoomReading.objects.filter(pk=reading_id).first()
    if there is not None:
        if (there.place_id, there.read_at, there.typed) != (room_id, read_at, typed):
            raise Conflict("This reading was already sent with other content; start a new one.")
        return there
    room = _room(scope, room_id)
    temperature_c, humidity_percent = _air(typed, read_at, now)
    instrument = _instrument(scope, instrument_id)
    uncertainty, unfit = fitness(instrument, scope.premises, read_at)
    reading = RoomReading.objects.create(
        id=reading_id,
        place=room,
        read_at=read_at,
        temperature_c=temperature_c,
        relative_humidity=humidity_percent,
        typed=typed,
        instrument=instrument,
        expanded_uncertainty=uncertainty,
        instrument_unfit=unfit or "",
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="room.read",
        subject=f"room_reading:{reading.id}",
        body=sealing.reading_body(reading),
        actor=scope.actor,
        at=now,
    )
    return reading


@transaction.atomic
def logs_add(
    *,
    scope: Scope,
    room_id: UUID,
    trace_id: UUID,
    channels: Sequence[ChannelSaid],
    instrument_id: UUID | None = None,
    now: datetime | None = None,
) -> list[RoomLog]:
    """Says which channels of a logger's file (checks.actions.trace_store_file) are of a room, and of what.

    Sent again with the same content it gives the logs already there. Raises ActionError for a channel that the file
    has not, values that no room's air has, and a channel that another room has.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    room = _room(scope, room_id)
    trace = TraceFile.objects.filter(premises=scope.premises, pk=trace_id).first()
    if trace is None:
        raise ActionError("There is no such logger's file at this dairy; bring it in again.", field="file")
    if not channels:
        raise ActionError("Say what one of the channels measures, at least.", field="channels")
    there = {log.channel: log for log in RoomLog.objects.filter(trace=trace)}
    if there:
        same = {(one.channel, one.quantity, one.label.strip()) for one in channels}
        if {(x.channel, x.quantity, x.label) for x in there.values()} != same or any(
            x.place_id != room.pk for x in there.values()
        ):
            raise Conflict("This file was already taken in for a room with other content.")
        return list(there.values())
    instrument = _instrument(scope, instrument_id)
    uncertainty, unfit = fitness(instrument, scope.premises, trace.started_at)
    logs = [_log(scope, room, trace, one, instrument, uncertainty, unfit, now) for one in channels]
    RoomLog.objects.bulk_create(logs)
    for log in logs:
        ledger.seal(
            log_id=scope.log_id,
            kind="room.logged",
            subject=f"room_log:{log.id}",
            body=sealing.log_body(log),
            actor=scope.actor,
            at=now,
        )
    return logs


def _log(
    scope: Scope,
    room: Place,
    trace: TraceFile,
    said: ChannelSaid,
    instrument: Instrument | None,
    uncertainty: float,
    unfit: str | None,
    now: datetime,
) -> RoomLog:
    if said.quantity not in RoomLog.Quantity.values:
        raise ActionError(f"Say what “{said.channel}” measures.", field="channels")
    loaded = trace_store.load(trace)
    if said.channel not in loaded.channels:
        raise ActionError(f"The file has no channel named “{said.channel}”; choose from its own.", field="channels")
    t, values = samples_of(loaded, said.channel)
    low, high = (COLDEST_C, WARMEST_C) if said.quantity == RoomLog.Quantity.TEMPERATURE else (0.0, 100.0)
    if not values.size:
        raise ActionError(f"“{said.channel}” holds no reading; leave it out.", field="channels")
    if values.min() < low or values.max() > high:
        raise ActionError(
            f"“{said.channel}” runs from {values.min():g} to {values.max():g}, which is no "
            f"{said.quantity.replace('_', ' ')} of a room; choose what it measures, or leave it out.",
            field="channels",
        )
    return RoomLog(
        id=uuid5(trace.pk, said.channel),
        place=room,
        trace=trace,
        channel=said.channel,
        label=said.label.strip() or said.channel,
        quantity=said.quantity,
        instrument=instrument,
        expanded_uncertainty=uncertainty,
        instrument_unfit=unfit or "",
        starts_at=loaded.at(t[0]),
        ends_at=loaded.at(t[-1]),
        overview=pack_overview(t, values),
        recorded_at=now,
        recorded_by=scope.user,
    )


def _room(scope: Scope, room_id: UUID) -> Place:
    room = Place.objects.filter(premises=scope.premises, pk=room_id, kind__in=LODGING).first()
    if room is None:
        raise ActionError("Choose one of the ripening rooms or cold stores.", field="room")
    return room


def _instrument(scope: Scope, instrument_id: UUID | None) -> Instrument | None:
    if instrument_id is None:
        return None
    found = Instrument.objects.filter(premises=scope.premises, pk=instrument_id).first()
    if found is None:
        raise ActionError("There is no such instrument at this dairy; choose one from the list.", field="instrument")
    return found


def _air(typed: dict[str, str], read_at: datetime, now: datetime) -> tuple[float | None, float | None]:
    """°C and % of what was typed; all that cannot be used is said at once."""
    wrong: dict[str, str] = {}
    unit = typed.get("unit", "°C")
    dry = _read(typed, "temperature", "temperature", unit, wrong)
    wet = _read(typed, "wet_bulb", "temperature", unit, wrong)
    humidity = _read(typed, "humidity", "relative_humidity", "%", wrong)
    pressure_pa = _read(typed, "pressure", "pressure", "hPa", wrong)
    if dry is not None and not COLDEST_C <= dry <= WARMEST_C:
        wrong["temperature"] = f"{dry:g} °C is no air of a room for cheese; read it again, and look at the unit."
    if read_at > now + CLOCK_TOLERANCE:
        wrong["read_at"] = "That time is in the future; correct the time."
    wrong |= _contradictions(dry, wet, humidity, wrong)
    if not wrong and wet is not None and dry is not None:
        humidity = _from_bulbs(dry, wet, typed.get("psychrometer", "ASPIRATED"), pressure_pa or STANDARD_PA, wrong)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return dry, humidity


def _read(typed: dict[str, str], name: str, quantity: str, unit: str, wrong: dict[str, str]) -> float | None:
    if name not in typed:
        return None
    try:
        return read_typed(quantity, typed[name], unit).value_si
    except InputError as error:
        wrong[name] = str(error)
        return None


def _contradictions(
    dry: float | None, wet: float | None, humidity: float | None, wrong: dict[str, str]
) -> dict[str, str]:
    if wet is not None and humidity is not None:
        return {"humidity": "Type the wet bulb or the humidity, not both."}
    if wet is not None and dry is None and "temperature" not in wrong:
        return {"temperature": "A wet bulb tells the humidity together with the dry one; type both."}
    if dry is None and humidity is None and not wrong:
        return {"temperature": "Type the temperature, the humidity, or both."}
    return {}


def _from_bulbs(dry: float, wet: float, how: str, pressure_pa: float, wrong: dict[str, str]) -> float | None:
    if how not in Psychrometer.__members__:
        wrong["psychrometer"] = "Choose how the air is drawn over the bulbs from the list."
        return None
    try:
        return relative_humidity(dry, wet, pressure_pa=pressure_pa, psychrometer=Psychrometer[how])
    except InputError as error:
        wrong["wet_bulb"] = str(error)
        return None
