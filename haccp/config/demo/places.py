"""The places of the demo dairy in the order of the walk, and the instruments with their calibration."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from haccp.premises import actions as premises
from haccp.premises.models import Instrument, Place
from haccp.premises.scope import Scope

PlaceKind = Place.Kind
InstrumentKind = Instrument.Kind


@dataclass(frozen=True, slots=True)
class Places:
    """The hard cheese ripens in the cellar, the soft ones in the cave, which is warmer and damper."""

    tank: Place
    make_room: Place
    vat_1: Place
    vat_2: Place
    cellar: Place
    cave: Place
    cold_store: Place
    brine_tank: Place


@dataclass(frozen=True, slots=True)
class Instruments:
    """One of each kind in use. spare is a thermometer whose calibration has run out: it hangs on its hook."""

    thermometer: Instrument
    recorder: Instrument
    ph_meter: Instrument
    hygrometer: Instrument
    phosphatase_kit: Instrument
    scale: Instrument
    spare: Instrument

    def of_kind(self, kind: str) -> Instrument:
        fit = (self.thermometer, self.recorder, self.ph_meter, self.hygrometer, self.phosphatase_kit)
        return next(one for one in fit if one.kind == kind)


def add_places(owner: Scope, at: datetime) -> Places:
    def add(name: str, kind: str, order: int) -> Place:
        return premises.place_add(scope=owner, name=name, kind=kind, walking_order=order, at=at)

    return Places(
        tank=add("Milk tank", PlaceKind.MILK_STORE, 1),
        make_room=add("Make room", PlaceKind.MAKE_ROOM, 2),
        vat_1=add("Vat 1 (400 L)", PlaceKind.VAT, 3),
        vat_2=add("Vat 2 (250 L)", PlaceKind.VAT, 4),
        cellar=add("Cellar", PlaceKind.RIPENING_ROOM, 5),
        cave=add("Cave", PlaceKind.RIPENING_ROOM, 6),
        cold_store=add("Cold store", PlaceKind.COLD_STORE, 7),
        brine_tank=add("Brine tank", PlaceKind.BRINE_TANK, 8),
    )


def add_instruments(owner: Scope, places: Places, today: date, at: datetime) -> Instruments:
    """Calibrated about half a year ago for a year, but for the spare."""

    def add(
        name: str,
        kind: str,
        uncertainty: float,
        serial: str,
        days_ago: int,
        place: Place | None = None,
        days: int = 365,
    ) -> Instrument:
        calibrated_on = today - timedelta(days=days_ago)
        return premises.instrument_add(
            scope=owner,
            name=name,
            kind=kind,
            expanded_uncertainty=uncertainty,
            serial=serial,
            place=place,
            calibrated_on=calibrated_on,
            calibration_valid_until=calibrated_on + timedelta(days=days),
            at=at,
        )

    return Instruments(
        thermometer=add("Probe thermometer", InstrumentKind.THERMOMETER, 0.3, "T-0417", 171),
        recorder=add("Vat recorder", InstrumentKind.RECORDER, 0.2, "R-0093", 158, places.make_room),
        ph_meter=add("pH meter", InstrumentKind.PH_METER, 0.04, "P-0221", 96),
        hygrometer=add("Hygrometer", InstrumentKind.HYGROMETER, 2.0, "H-0058", 143),
        phosphatase_kit=add("Phosphatase reader", InstrumentKind.TEST_KIT, 20.0, "F-0012", 120, places.make_room),
        scale=add("Bench scale", InstrumentKind.SCALE, 0.01, "S-0310", 149),
        spare=add("Spare thermometer", InstrumentKind.THERMOMETER, 0.5, "T-0102", 377),
    )
