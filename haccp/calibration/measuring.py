"""What was typed at a calibration, as points of comparison and verdicts. The verdicts come from haccp.science."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from haccp.calibration.models import Calibration
from haccp.premises.errors import ActionError
from haccp.premises.models import Instrument
from haccp.science.calibration.comparison import Point, boiling_point, ice_point, judge_found, judge_left
from haccp.science.calibration.electrode import Buffer, calibrate, judge_electrode
from haccp.science.errors import InputError
from haccp.science.ruling import JsonValue, Verdict
from haccp.science.units import QUANTITIES, quantity_of, read_typed, show, unit_of

Method = Calibration.Method
Kind = Instrument.Kind
# Kind of instrument -> what it measures, and the largest error that is allowed where nobody says otherwise.
# Thermometers ±1 °C: Food Standards Code, Standard 3.2.2, clause 22, from memory. The others: common practice.
MEASURES = {
    Kind.THERMOMETER: ("temperature", 1.0),
    Kind.RECORDER: ("temperature", 1.0),
    Kind.HYGROMETER: ("relative_humidity", 5.0),
    Kind.PH_METER: ("ph", 0.1),
    Kind.SCALE: ("mass", 0.01),
    Kind.TEST_KIT: ("answer", 0.0),
}
METHODS = {
    Kind.THERMOMETER: (Method.ICE_POINT, Method.BOILING_POINT, Method.REFERENCE, Method.CERTIFICATE),
    Kind.RECORDER: (Method.ICE_POINT, Method.BOILING_POINT, Method.REFERENCE, Method.CERTIFICATE),
    Kind.HYGROMETER: (Method.REFERENCE, Method.CERTIFICATE),
    Kind.PH_METER: (Method.BUFFERS, Method.CERTIFICATE),
    Kind.SCALE: (Method.REFERENCE, Method.CERTIFICATE),
}
MOST_POINTS = 6


@dataclass(frozen=True, slots=True)
class PointTyped:
    """What was typed for one point. true: of the reference or certificate; for buffers its pH, found and left in mV."""

    found: str = ""
    left: str = ""
    true: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """points: as they are stored; errors: as found, SI, for correcting what was read."""

    quantity: str
    points: list[dict[str, JsonValue]]
    found: Verdict
    left: Verdict
    errors: list[float] = field(default_factory=list)
    tolerance: float | None = None


def methods_of(instrument: Instrument) -> tuple[Method, ...]:
    """How an instrument of this kind is calibrated here; none for a test kit."""
    return METHODS.get(Kind(instrument.kind), ())


def measure(
    *,
    instrument: Instrument,
    method: str,
    performed_at: datetime,
    points: Sequence[PointTyped],
    unit: str,
    tolerance: str,
    pressure: str = "",
    pressure_unit: str = "hPa",
    altitude: str = "",
    buffer_temperature: str = "",
    reference_uncertainty: str = "",
) -> Measured:
    """Raises ActionError with a sentence for each field that cannot be used."""
    quantity, _default = MEASURES[Kind(instrument.kind)]
    if method not in methods_of(instrument):
        raise ActionError(f"{instrument.name} is not calibrated like that; choose another way.", field="method")
    reader = _Reader()
    if method == Method.BUFFERS:
        return _buffers(reader, performed_at, points, buffer_temperature)
    allowed = reader.difference("tolerance", quantity, tolerance, unit)
    doubt = reader.difference("reference_uncertainty", quantity, reference_uncertainty or "0", unit)
    surroundings = (pressure, pressure_unit, altitude)
    read = [_point(reader, i, method, quantity, one, unit, doubt, surroundings) for i, one in enumerate(points)]
    made = [one for one in read if one is not None]
    if not made and not reader.wrong:
        reader.wrong["found-0"] = "Type what the instrument showed, at one point at least."
    if not allowed and "tolerance" not in reader.wrong:
        reader.wrong["tolerance"] = "Say how large the error may be, more than nothing."
    reader.finish()
    return Measured(
        quantity,
        [_stored(one) for one in made],
        judge_found(quantity, made, allowed, unit=unit),
        judge_left(quantity, made, allowed, unit=unit),
        [one.error_found for one in made],
        allowed,
    )


class _Reader:
    """Reads typed numbers and gathers what is wrong, so that all is said at once."""

    def __init__(self) -> None:
        self.wrong: dict[str, str] = {}

    def value(self, name: str, quantity: str, text: str, unit: str) -> float | None:
        if not text.strip():
            return None
        try:
            return read_typed(quantity, text, unit).value_si
        except InputError as error:
            self.wrong[name] = str(error)
            return None

    def difference(self, name: str, quantity: str, text: str, unit: str) -> float:
        """A difference: without the unit's offset, so that 1.8 °F is 1 °C."""
        bare = text.strip().replace(",", ".").removeprefix("±").strip()
        try:
            size = float(bare or "nan")
        except ValueError:
            size = float("nan")
        if not 0 <= size < 1e6:
            self.wrong[name] = "Type a number in digits, zero or more."
            return 0.0
        return size * unit_of(quantity_of(quantity), unit).factor

    def number(self, name: str, text: str, low: float, high: float, what: str) -> float | None:
        try:
            found = float(text.strip().replace("−", "-").replace(",", "."))
        except ValueError:
            self.wrong[name] = f"Type {what} as a number."
            return None
        if not low <= found <= high:
            self.wrong[name] = f"{found:g} is not {what} ({low:g} to {high:g}); read it again."
            return None
        return found

    def finish(self) -> None:
        if self.wrong:
            raise ActionError(next(iter(self.wrong.values())), fields=self.wrong)


def _point(
    reader: _Reader,
    i: int,
    method: str,
    quantity: str,
    typed: PointTyped,
    unit: str,
    doubt: float,
    surroundings: tuple[str, str, str],
) -> Point | None:
    """surroundings: pressure and its unit, altitude in m, as typed."""
    pressure, pressure_unit, altitude = surroundings
    if not (typed.found.strip() or typed.left.strip() or typed.true.strip()):
        return None
    found = reader.value(f"found-{i}", quantity, typed.found, unit)
    left = reader.value(f"left-{i}", quantity, typed.left, unit)
    if found is None:
        reader.wrong.setdefault(f"found-{i}", "Type what it showed before anybody touched it.")
        return None
    if method == Method.ICE_POINT:
        return ice_point(found, left)
    if method == Method.BOILING_POINT:
        station_pa = reader.value("pressure", "pressure", pressure, pressure_unit)
        altitude_m = reader.number("altitude", altitude, -430, 6000, "an altitude in m") if altitude.strip() else None
        if reader.wrong:
            return None
        try:
            return boiling_point(found, left, station_pa=station_pa, altitude_m=altitude_m)
        except InputError as error:
            reader.wrong["pressure"] = str(error)
            return None
    true = reader.value(f"true-{i}", quantity, typed.true, unit)
    if true is None:
        reader.wrong.setdefault(f"true-{i}", "Type what the reference showed.")
        return None
    return Point(true, found, left, doubt, f"reference of {show(quantity, true, unit)}")


def _stored(point: Point) -> dict[str, JsonValue]:
    return {
        "label": point.label,
        "true": point.true,
        "found": point.found,
        "left": point.left,
        "expanded_uncertainty": point.expanded_uncertainty,
    }


def _buffers(reader: _Reader, at: datetime, points: Sequence[PointTyped], temperature: str) -> Measured:
    given = [point for point in points if point.true.strip() or point.found.strip()][:2]
    if len(given) < 2:
        raise ActionError("Two buffers are needed, such as pH 7 and pH 4.", field="true-0")
    at_c = reader.value("buffer_temperature", "temperature", temperature or "20", "°C")
    ph = [reader.value(f"true-{i}", "ph", one.true, "pH") for i, one in enumerate(given)]
    found = [reader.number(f"found-{i}", one.found, -1000, 1000, "mV") for i, one in enumerate(given)]
    is_left = any(one.left.strip() for one in given)
    left = (
        [reader.number(f"left-{i}", one.left, -1000, 1000, "mV") for i, one in enumerate(given)] if is_left else found
    )
    for i, one in enumerate(ph):
        if one is None:
            reader.wrong.setdefault(f"true-{i}", "Type the buffer's pH, as its label states it.")
    reader.finish()
    buffers = [(p or 0.0, f or 0.0, left_mv or 0.0) for p, f, left_mv in zip(ph, found, left, strict=True)]
    (first, second) = buffers
    try:
        as_found = calibrate(at, Buffer(first[0], first[1]), Buffer(second[0], second[1]), at_c or 20.0)
        as_left = calibrate(at, Buffer(first[0], first[2]), Buffer(second[0], second[2]), at_c or 20.0)
    except InputError as error:
        raise ActionError(str(error), field="found-0") from error
    stored: list[dict[str, JsonValue]] = [
        {"ph": p, "mv_found": f, "mv_left": left_mv, "temperature_c": at_c}
        for p, f, left_mv in zip(ph, found, left, strict=True)
    ]
    return Measured("ph", stored, judge_electrode(as_found), judge_electrode(as_left))


def default_tolerance(instrument: Instrument) -> float:
    return MEASURES[Kind(instrument.kind)][1]


def unit_choices(instrument: Instrument) -> list[str]:
    return [symbol for symbol in QUANTITIES[MEASURES[Kind(instrument.kind)][0]].units if symbol]


def uncertainty_si(instrument: Instrument, text: str, unit: str) -> float:
    """A typed U in SI; raises ActionError."""
    reader = _Reader()
    found = reader.difference("expanded_uncertainty", MEASURES[Kind(instrument.kind)][0], text, unit)
    reader.finish()
    return found


def as_typed(**fields: object) -> Mapping[str, object]:
    """What was typed and is not empty, to be kept beside the values."""
    return {name: value for name, value in fields.items() if value not in ("", [], None)}
