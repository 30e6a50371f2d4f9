"""The uncertainty of an instrument as its certificate states it: a width, so that 0.9 °F is 0.5 °C."""

from haccp.premises.models import Instrument
from haccp.science.errors import InputError
from haccp.science.units import QUANTITIES, show_difference

Kind = Instrument.Kind
MEASURES = {
    Kind.THERMOMETER: "temperature",
    Kind.RECORDER: "temperature",
    Kind.PH_METER: "ph",
    Kind.HYGROMETER: "relative_humidity",
    Kind.SCALE: "mass",
}
# A wider one is a slip of the unit or of the decimal point (common practice, no source); in the stored unit.
WIDEST = {"temperature": 10.0, "ph": 1.0, "relative_humidity": 20.0, "mass": 100.0}
UNITS_OFFERED = ("°C", "°F", "pH", "%", "kg", "g", "lb")


def uncertainty_si(kind: str, value: float, unit: str) -> float:
    """The width in the stored unit of what the instrument measures. A test kit's stays in the unit it reads in.

    Raises InputError for a unit that fits no such instrument, a negative width and one that is a slip.
    """
    if not 0 <= value < float("inf"):
        raise InputError("An uncertainty is 0 or more.", remedy="Type it without a sign, as the certificate states it.")
    quantity = MEASURES.get(Kind(kind))
    if quantity is None:
        return value
    units = QUANTITIES[quantity].units
    if unit not in units:
        fit = " or ".join(one for one in UNITS_OFFERED if one in units)
        raise InputError(f"A {Kind(kind).label} is not uncertain by {unit or 'no unit'}.", remedy=f"Choose {fit}.")
    width = value * units[unit].factor
    if width > WIDEST[quantity]:
        most = show_difference(quantity, WIDEST[quantity], unit)
        raise InputError(
            f"An uncertainty above {most} proves nothing.", remedy="Look at the decimal point and the unit again."
        )
    return width


def uncertainty_in_words(instrument: Instrument) -> str:
    """As typed, or the stored width with its unit; "" where none was stated."""
    if instrument.uncertainty_typed:
        return instrument.uncertainty_typed
    if not instrument.expanded_uncertainty:
        return ""
    quantity = MEASURES.get(Kind(instrument.kind))
    if quantity is None:
        return f"{instrument.expanded_uncertainty:g}"
    return f"{instrument.expanded_uncertainty:g} {QUANTITIES[quantity].si_unit}"
