"""The one registry of quantities: units, plausible ranges, reading what was typed and showing it again.

Stored values are in the quantity's si_unit (°C, L, kg, s: see each entry). Conversion is linear:
stored = typed × factor + offset.
"""

import math
import re
from dataclasses import dataclass, field

from haccp.science.errors import InputError

_NBSP = "\u00a0"
_MINUS = "\u2212"


@dataclass(frozen=True, slots=True)
class Unit:
    """factor, offset: stored = typed × factor + offset. decimals: digits shown; the quantity's when None."""

    symbol: str
    factor: float = 1.0
    offset: float = 0.0
    decimals: int | None = None


@dataclass(frozen=True, slots=True)
class Quantity:
    """plausible_low / plausible_high: in si_unit; what lies outside is taken for a slip and refused.

    confusions: unit chosen -> unit that the instrument may well have shown instead.
    """

    key: str
    name: str
    si_unit: str
    units: dict[str, Unit]
    plausible_low: float
    plausible_high: float
    decimals: int = 1
    confusions: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Typed:
    """A number as it was typed, and its stored value."""

    value_si: float
    text: str
    unit: str


def _quantity(
    key: str,
    name: str,
    units: tuple[Unit, ...],
    plausible: tuple[float, float],
    decimals: int,
    confusions: dict[str, str] | None = None,
) -> Quantity:
    """The first of units is the one that is stored."""
    return Quantity(key, name, units[0].symbol, {u.symbol: u for u in units}, *plausible, decimals, confusions or {})


_TIME = (Unit("s"), Unit("min", 60.0), Unit("h", 3600.0, decimals=2), Unit("d", 86400.0, decimals=2))
_YEAR_S = 365.25 * 86400.0

# The plausible ranges are common practice, no source, save where a quantity bounds itself (pH, %).
# Titratable acidity: 1 °SH = 2.25 °D = 2.5 °Th = 0.0225 % lactic acid (°Th from memory).
# gal (US) 231 in³, lb, psi: exact by definition (NIST SP 811, appendix B.8).
# Counts: 1 mL of milk is taken as 1 g, 3 % off, far inside what a plate count repeats to (common practice).
# Concentration: ppm is taken as mg/L and 1 % as 10 g/L, true of dilute watery solutions; 1 kg of milk as 1 L for
# traces in µg/kg, 3 % off.
_ALL = (
    _quantity(
        "temperature",
        "temperature",
        (Unit("°C"), Unit("°F", 5 / 9, -32 * 5 / 9), Unit("K", 1.0, -273.15)),
        (-40.0, 130.0),
        1,
        {"°C": "°F", "°F": "°C"},
    ),
    _quantity("ph", "pH", (Unit("pH"),), (0.0, 14.0), 2),
    _quantity(
        "titratable_acidity",
        "titratable acidity",
        (
            Unit("%", decimals=3),
            Unit("°D", 0.01),
            Unit("°SH", 0.0225),
            Unit("°Th", 0.009),
        ),
        # Milk holds 0.13 to 0.18 %, whey of washed curd the least (common practice, no source)
        (0.02, 3.0),
        1,
        {"%": "°D", "°D": "%", "°SH": "%", "°Th": "%"},
    ),
    _quantity(
        "volume",
        "volume",
        (Unit("L"), Unit("mL", 0.001, decimals=0), Unit("m³", 1000.0, decimals=3), Unit("gal (US)", 3.785411784)),
        (0.0, 100_000.0),
        1,
    ),
    _quantity(
        "mass",
        "mass",
        (Unit("kg"), Unit("g", 0.001, decimals=0), Unit("t", 1000.0), Unit("lb", 0.45359237, decimals=1)),
        (0.0, 100_000.0),
        3,
    ),
    _quantity("pieces", "number of pieces", (Unit("pc", decimals=0),), (0.0, 1_000_000.0), 0),
    _quantity("protein", "protein", (Unit("%"),), (0.0, 30.0), 2),
    _quantity("casein", "casein", (Unit("%"),), (0.0, 25.0), 2),
    _quantity("duration", "duration", _TIME, (0.0, 10 * _YEAR_S), 0),
    _quantity("hold_time", "holding time", _TIME, (0.0, 86400.0), 0),
    _quantity("relative_humidity", "relative humidity", (Unit("%"),), (0.0, 100.0), 0),
    _quantity(
        "concentration",
        "concentration",
        (
            Unit("mg/L", decimals=0),
            Unit("ppm", decimals=0),
            Unit("%", 10_000.0, decimals=2),
            Unit("µg/kg", 0.001, decimals=3),
        ),
        (0.0, 1_000_000.0),
        0,
    ),
    _quantity(
        "pressure",
        "pressure",
        (
            Unit("Pa", decimals=0),
            Unit("hPa", 100.0),
            Unit("kPa", 1000.0),
            Unit("mbar", 100.0),
            Unit("bar", 100_000.0, decimals=2),
            Unit("psi", 6894.757293168),
        ),
        (0.0, 2_000_000.0),
        1,
    ),
    _quantity("salt", "salt", (Unit("%"),), (0.0, 40.0), 2),
    _quantity("moisture", "moisture", (Unit("%"),), (0.0, 100.0), 1),
    _quantity("fat", "fat", (Unit("%"),), (0.0, 100.0), 1),
    _quantity("water_activity", "water activity", (Unit("aw"),), (0.0, 1.0), 3),
    _quantity("count_cfu", "count", (Unit("cfu/mL"), Unit("cfu/g")), (0.0, 1e12), 0),
    _quantity(
        "somatic_cells",
        "somatic cell count",
        (Unit("cells/mL"), Unit("×1000 cells/mL", 1000.0)),
        (0.0, 1e8),
        0,
    ),
    _quantity("phosphatase", "alkaline phosphatase", (Unit("mU/L"),), (0.0, 1e7), 0),
    _quantity(
        "length",
        "length",
        (Unit("m", decimals=3), Unit("cm", 0.01, decimals=1), Unit("mm", 0.001)),
        (0.0, 100.0),
        0,
    ),
    _quantity("answer", "answer", (Unit(""),), (0.0, 0.0), 0),
)

QUANTITIES: dict[str, Quantity] = {quantity.key: quantity for quantity in _ALL}

_WRITTEN_FIRST = frozenset({"pH", "aw"})
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)
_GROUPED_ONCE = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_GROUPED_BOTH = re.compile(r"[+-]?\d{1,3}((,\d{3})+\.\d*|(\.\d{3})+,\d*|(,\d{3}){2,}|(\.\d{3}){2,})")
_THREE_DECIMALS = 3
_NOT_A_NUMBER = frozenset({"nan", "inf", "infinity", "+inf", "-inf", "+infinity", "-infinity"})


def quantity_of(key: str) -> Quantity:
    """The quantity of that key; InputError when there is none."""
    try:
        return QUANTITIES[key]
    except KeyError:
        raise InputError(
            f"There is no quantity named “{key}”.", remedy=f"Use one of: {', '.join(sorted(QUANTITIES))}."
        ) from None


def unit_of(quantity: Quantity, symbol: str) -> Unit:
    """The unit of that symbol (the stored unit when empty); InputError when the quantity has no such unit."""
    unit = quantity.units.get(symbol or quantity.si_unit)
    if unit is None:
        known = ", ".join(s for s in quantity.units if s)
        raise InputError(f"“{symbol}” is not a unit of {quantity.name}.", remedy=f"Choose one of: {known}.")
    return unit


def to_si(quantity_key: str, value: float, unit: str) -> float:
    """A value in unit, turned into the stored unit."""
    chosen = unit_of(quantity_of(quantity_key), unit)
    return value * chosen.factor + chosen.offset


def from_si(quantity_key: str, value_si: float, unit: str) -> float:
    """A stored value, turned into unit."""
    chosen = unit_of(quantity_of(quantity_key), unit)
    return (value_si - chosen.offset) / chosen.factor


def convert(quantity_key: str, value: float, from_unit: str, to_unit: str) -> float:
    """A value in from_unit, turned into to_unit. InputError for a unit that the quantity does not have."""
    return from_si(quantity_key, to_si(quantity_key, value, from_unit), to_unit)


def read_typed(quantity_key: str, text: str, unit: str) -> Typed:
    """What somebody typed, as a stored value.

    Takes a decimal point or comma, spaces between groups of digits, a sign (a leading ± is passed over) and
    the unit itself beside the number.
    Raises InputError for an empty field, no number, NaN or infinity, a number that can be read in two ways,
    and a value outside the plausible range.
    """
    quantity = quantity_of(quantity_key)
    chosen = unit_of(quantity, unit)
    if not chosen.symbol:
        raise InputError("An answer is chosen, not typed.", remedy="Choose one of the answers that are offered.")
    number = _number(quantity, chosen, text)
    value_si = number * chosen.factor + chosen.offset
    if not _is_plausible(quantity, value_si):
        raise _implausible(quantity, chosen, number)
    return Typed(value_si, text, chosen.symbol)


def _number(quantity: Quantity, unit: Unit, text: str) -> float:
    bare = re.sub(r"\s", "", text)  # \s holds thin, narrow and no-break spaces too
    if not bare:
        raise InputError(f"No {quantity.name} was given.", remedy=f"Type the {quantity.name} as a number.")
    bare = _without_unit(quantity, unit, bare).removeprefix("±").replace(_MINUS, "-")
    if bare.lower() in _NOT_A_NUMBER:
        raise InputError(f"“{text.strip()}” is not a {quantity.name}.", remedy="Type the number that was read.")
    if _GROUPED_BOTH.fullmatch(bare):
        decimal = "," if bare.rfind(",") > bare.rfind(".") and bare.count(",") == 1 else "."
        group = "." if decimal == "," or bare.count(".") > 1 else ","
        bare = bare.replace(group, "")
    if _GROUPED_ONCE.fullmatch(bare):
        _refuse_if_ambiguous(quantity, unit, bare)
    bare = bare.replace(",", ".") if bare.count(",") == 1 and "." not in bare else bare
    if not _NUMBER.fullmatch(bare):
        raise InputError(
            f"“{text.strip()}” is not a number.",
            remedy=f"Type the {quantity.name} in digits, for example {_example(quantity, unit)}.",
        )
    number = float(bare)
    if not math.isfinite(number):
        raise InputError(f"“{text.strip()}” is too large a number.", remedy="Type the number that was read.")
    return number


def _without_unit(quantity: Quantity, chosen: Unit, bare: str) -> str:
    if chosen.symbol in _WRITTEN_FIRST and bare.lower().startswith(chosen.symbol.lower()):
        return bare[len(chosen.symbol) :]
    for symbol in sorted(quantity.units, key=len, reverse=True):
        tight = re.sub(r"\s", "", symbol)
        if not tight or not bare.lower().endswith(tight.lower()) or not bare[-len(tight) - 1 : -len(tight)].isdigit():
            continue
        if symbol != chosen.symbol:
            raise InputError(
                f"The number was typed in {symbol}, but {chosen.symbol} is chosen.",
                remedy=f"Choose {symbol}, or type the value in {chosen.symbol}.",
            )
        return bare[: -len(tight)]
    return bare


def _refuse_if_ambiguous(quantity: Quantity, unit: Unit, bare: str) -> None:
    """One mark before three digits: a decimal mark, or one between thousands, as half of Europe writes a point.

    A point is asked back only where the unit is not one that is read to three decimals: a scale that shows 1.200 kg
    means what it shows.
    """
    mark = "," if "," in bare else "."
    if mark == "." and _decimals(quantity, unit) >= _THREE_DECIMALS:
        return
    as_decimal, as_group = bare.replace(",", "."), bare.replace(mark, "")
    if all(_is_plausible(quantity, float(n) * unit.factor + unit.offset) for n in (as_decimal, as_group)):
        shorter = as_decimal.rstrip("0").rstrip(".") if as_decimal.endswith("0") else f"{as_decimal}0"
        decimal = f"{as_decimal} with a point" if mark == "," else shorter
        raise InputError(
            f"“{bare}” can be read as {as_decimal} or as {as_group}.",
            remedy=f"Type {as_group} without the {'comma' if mark == ',' else 'point'}, or {decimal}.",
        )


def check_plausible(quantity_key: str, value_si: float, unit: str) -> None:
    """InputError, in the unit given, for a stored value that lies outside what the quantity can plausibly be."""
    quantity = quantity_of(quantity_key)
    if not _is_plausible(quantity, value_si):
        low, high = (from_si(quantity_key, end, unit) for end in (quantity.plausible_low, quantity.plausible_high))
        shown = _plain(round(from_si(quantity_key, value_si, unit), 9))
        raise InputError(
            f"{shown} {unit} is not a plausible {quantity.name} ({_plain(low)} to {_plain(high)})."
            if unit not in _WRITTEN_FIRST
            else f"{unit} {shown} is not plausible ({_plain(low)} to {_plain(high)}).",
            remedy="Look at the number and its unit.",
        )


def _is_plausible(quantity: Quantity, value_si: float) -> bool:
    return quantity.plausible_low <= value_si <= quantity.plausible_high


def _example(quantity: Quantity, unit: Unit) -> str:
    middle = min(quantity.plausible_low + 0.35 * (quantity.plausible_high - quantity.plausible_low), 25.0)
    return f"{(middle - unit.offset) / unit.factor:.{_decimals(quantity, unit)}f}"


def _implausible(quantity: Quantity, unit: Unit, number: float) -> InputError:
    low, high = (from_si(quantity.key, v, unit.symbol) for v in (quantity.plausible_low, quantity.plausible_high))
    shown = _plain(number) if unit.symbol in _WRITTEN_FIRST or not unit.symbol else f"{_plain(number)} {unit.symbol}"
    within = f"{_plain(low)} to {_plain(high)}"
    if unit.symbol and unit.symbol not in _WRITTEN_FIRST:
        within += f" {unit.symbol}"
    problem = f"{shown} is not a plausible {quantity.name} ({within})."
    return InputError(problem, remedy=_remedy(quantity, unit, number))


def _remedy(quantity: Quantity, unit: Unit, number: float) -> str:
    other = quantity.confusions.get(unit.symbol)
    if other is not None and _is_plausible(quantity, to_si(quantity.key, number, other)):
        return f"If the instrument shows {other}, choose {other}."
    for shift in (10.0, 100.0, 1000.0):
        shifted = number / shift
        is_usual = math.isclose(shifted, round(shifted, _decimals(quantity, unit)), rel_tol=1e-9)
        if is_usual and _is_plausible(quantity, shifted * unit.factor + unit.offset):
            return f"Did you mean {_plain(shifted)}?"
    return "Read the instrument again and type what it shows."


def _plain(number: float) -> str:
    """The shortest way to write a number, in digits."""
    text = f"{number:.10g}"
    return (text if "e" not in text else f"{number:.0f}").replace("-", _MINUS)


def _decimals(quantity: Quantity, unit: Unit) -> int:
    return quantity.decimals if unit.decimals is None else unit.decimals


def decimals_of(quantity: str, unit: str) -> int:
    """Decimals that a value of the quantity is usually shown with in this unit. Errors: as quantity_of, unit_of."""
    known = quantity_of(quantity)
    return _decimals(known, unit_of(known, unit))


def _digits(number: float, decimals: int) -> str:
    """Fixed decimals, a true minus, groups of three from 10 000 up, and no −0.0."""
    rounded = round(number, decimals) + 0.0
    text = f"{abs(rounded):,.{decimals}f}" if abs(rounded) >= 10_000 else f"{abs(rounded):.{decimals}f}"
    return (_MINUS if rounded < 0 else "") + text.replace(",", _NBSP)


def _with_unit(digits: str, symbol: str) -> str:
    if not symbol:
        return digits
    return f"{symbol} {digits}" if symbol in _WRITTEN_FIRST else f"{digits} {symbol}"


def show(quantity_key: str, value_si: float, unit: str = "", *, decimals: int | None = None) -> str:
    """A stored value in unit (the stored unit when empty), as people write it: "63.0 °C", "pH 5.30"."""
    quantity = quantity_of(quantity_key)
    chosen = unit_of(quantity, unit)
    places = _decimals(quantity, chosen) if decimals is None else decimals
    return _with_unit(_digits(from_si(quantity_key, value_si, unit), places), chosen.symbol)


def show_difference(quantity_key: str, difference_si: float, unit: str = "", *, decimals: int | None = None) -> str:
    """A difference between two stored values in unit: without the unit's offset, so 1 °C is 1.8 °F."""
    quantity = quantity_of(quantity_key)
    chosen = unit_of(quantity, unit)
    places = _decimals(quantity, chosen) if decimals is None else decimals
    digits = _digits(difference_si / chosen.factor, places)
    return f"{digits} {chosen.symbol} units" if chosen.symbol in _WRITTEN_FIRST else _with_unit(digits, chosen.symbol)


def decimals_to_tell_apart(quantity_key: str, values_si: tuple[float, ...], unit: str = "") -> int:
    """Digits that show different values as different: 62.97 beside a limit of 63 must not read 63.0.

    At most six digits more than usual.
    """
    quantity = quantity_of(quantity_key)
    chosen = unit_of(quantity, unit)
    usual = _decimals(quantity, chosen)
    distinct = [v for i, v in enumerate(values_si) if not any(math.isclose(v, w, abs_tol=1e-9) for w in values_si[:i])]
    for places in range(usual, usual + 6):
        if len({_digits(from_si(quantity_key, v, unit), places) for v in distinct}) == len(distinct):
            return places
    return usual + 6


def spell_duration(seconds: float, *, round_up: bool = False) -> str:
    """A duration in words: "31 min 12 s", "6 h", "2 d 3 h", "0.5 s". A negative one gets a minus.

    Rounds towards zero, so that 29 min 59.9 s never reads 30 min; with round_up away from zero, for a lack.
    From one hour up seconds are left out where they are zero; from one day up minutes and seconds are dropped.
    """
    sign, size = (_MINUS if seconds < 0 else ""), abs(seconds)
    if size < 60:
        places = 2 if size < 1 else 1
        text = f"{_to_step(size, 10.0**-places, round_up):.{places}f}".rstrip("0").rstrip(".")
        return "1 min" if text == "60" else f"{sign}{text} s"
    step = 3600.0 if size >= 86400 else 1.0
    left = round(_to_step(size, step, round_up))
    parts = []
    for symbol, length in (("d", 86400), ("h", 3600), ("min", 60), ("s", 1)):
        count, left = divmod(left, length)
        if count:
            parts.append(f"{count} {symbol}")
    return sign + " ".join(parts)


def _to_step(size: float, step: float, round_up: bool) -> float:
    # 1e-6 of a step: float noise of a sum of sample times is not a second lost
    return (math.ceil(size / step - 1e-6) if round_up else math.floor(size / step + 1e-6)) * step
