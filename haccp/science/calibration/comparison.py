"""An instrument against what is known to be true: a reference instrument, the ice point, the boiling point."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from haccp.science.calibration.boiling import boiling_point_at_altitude_c, boiling_point_c
from haccp.science.errors import InputError
from haccp.science.guard import guard_band
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.units import decimals_to_tell_apart, show_difference

ICE_POINT_C = 0.0
# °C (k = 2): how far home-made slush or a boiling kettle may be from its ideal. Common practice, no source.
ICE_DOUBT_C = 0.1
BOILING_DOUBT_C = 0.2
ALTITUDE_ONLY_DOUBT_C = 1.0  # weather that nobody measured

_WORST_FIRST = (Ruling.BREACHED, Ruling.UNPROVEN, Ruling.MET)


@dataclass(frozen=True, slots=True)
class Point:
    """One comparison, in the SI unit of the quantity.

    true: what it should show. found: what it showed before anybody touched it. left: after adjustment; None where
    nothing was adjusted. expanded_uncertainty: U (k = 2) of true and of reading the instrument together.
    """

    true: float
    found: float
    left: float | None = None
    expanded_uncertainty: float = 0.0
    label: str = ""

    def __post_init__(self) -> None:
        given = [self.true, self.found, *([] if self.left is None else [self.left])]
        if not all(math.isfinite(value) for value in given):
            raise InputError("A reading of the comparison is missing.", remedy="Type what both instruments showed.")

    @property
    def error_found(self) -> float:
        return self.found - self.true

    @property
    def error_left(self) -> float:
        return (self.found if self.left is None else self.left) - self.true


def ice_point(found_c: float, left_c: float | None = None) -> Point:
    """A thermometer in slush of clean ice and water."""
    return Point(ICE_POINT_C, found_c, left_c, ICE_DOUBT_C, "ice point")


def boiling_point(
    found_c: float, left_c: float | None = None, *, station_pa: float | None = None, altitude_m: float | None = None
) -> Point:
    """A thermometer in boiling water, corrected for the pressure at the place, or for altitude where that is unknown.

    InputError when neither is given.
    """
    if station_pa is not None:
        return Point(boiling_point_c(station_pa), found_c, left_c, BOILING_DOUBT_C, "boiling point")
    if altitude_m is not None:
        true = boiling_point_at_altitude_c(altitude_m)
        return Point(true, found_c, left_c, ALTITUDE_ONLY_DOUBT_C, "boiling point (altitude only)")
    raise InputError(
        "Water boils at a temperature that the air pressure decides.",
        remedy="Give the pressure at the place, or its altitude.",
    )


def judge_found(quantity: str, points: Sequence[Point], tolerance: float, *, unit: str = "") -> Verdict:
    """As found: whether what the instrument has shown since its last good calibration can stand.

    tolerance: the largest error allowed, in SI, either way. BREACHED beyond it; UNPROVEN within it by less than the
    guard band (JCGM 106), and without any point; else MET. The worst point rules. margin: tolerance less error.
    InputError for a tolerance that is not above zero.
    """
    return _judge(quantity, points, [p.error_found for p in points], tolerance, unit, "As found")


def judge_left(quantity: str, points: Sequence[Point], tolerance: float, *, unit: str = "") -> Verdict:
    """As left: whether the instrument may be used from now on. Otherwise as judge_found."""
    return _judge(quantity, points, [p.error_left for p in points], tolerance, unit, "As left")


def _judge(
    quantity: str, points: Sequence[Point], errors: list[float], tolerance: float, unit: str, when: str
) -> Verdict:
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise InputError("The tolerance is above zero.", remedy="Give the largest error that the instrument may have.")
    if not points:
        return Verdict(Ruling.UNPROVEN, None, "calibration.missing", f"{when}: nothing was compared.")
    verdicts = [
        _judge_one(quantity, point, error, tolerance, unit, when) for point, error in zip(points, errors, strict=True)
    ]
    return min(verdicts, key=lambda v: (_WORST_FIRST.index(v.ruling), v.margin))


def _judge_one(quantity: str, point: Point, error: float, tolerance: float, unit: str, when: str) -> Verdict:
    margin, band = tolerance - abs(error), guard_band(point.expanded_uncertainty)
    places = decimals_to_tell_apart(quantity, (abs(error), tolerance), unit)
    size = show_difference(quantity, abs(error), unit, decimals=places)
    allowed = show_difference(quantity, tolerance, unit, decimals=places)
    where = f" at the {point.label}" if point.label else ""
    way = "" if error == 0 else " too high" if error > 0 else " too low"
    sentence = f"{when}{where}: {size}{way}; at most {allowed} is allowed."
    ruling, code = Ruling.MET, "calibration.met"
    if margin < -1e-9:
        ruling, code = Ruling.BREACHED, "calibration.out"
    elif margin < band - 1e-9:
        ruling, code = Ruling.UNPROVEN, "calibration.uncertain"
        needed = show_difference(quantity, band, unit, decimals=places + 1)
        sentence += f" The comparison is too coarse to be sure: a margin of {needed} is needed."
    facts: dict[str, JsonValue] = {
        "error": error,
        "true": point.true,
        "tolerance": tolerance,
        "guard_band": band,
        "label": point.label,
    }
    return Verdict(ruling, margin, code, sentence, facts)
