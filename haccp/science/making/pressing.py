"""Press load: the mass hung on a press, the force on the cheese, and the pressure over its face."""

import math

from haccp.science.errors import InputError

STANDARD_GRAVITY = 9.80665  # m/s², exact by definition (CGPM 1901; NIST SP 811)


def force_n(mass_kg: float, *, advantage: float = 1.0) -> float:
    """Newtons on the cheese from a mass on the press. advantage: of its lever, 1 for a mass laid on directly."""
    _refuse_nothing(mass_kg, "The mass")
    _refuse_nothing(advantage, "The advantage of the lever")
    return mass_kg * advantage * STANDARD_GRAVITY


def round_area_m2(diameter_m: float, *, cheeses: int = 1) -> float:
    """Face of round cheeses that lie side by side; cheeses stacked on each other share one face."""
    _refuse_nothing(diameter_m, "The diameter")
    _refuse_nothing(cheeses, "The number of cheeses")
    return math.pi / 4 * diameter_m**2 * cheeses


def square_area_m2(length_m: float, width_m: float, *, cheeses: int = 1) -> float:
    """Face of rectangular cheeses that lie side by side."""
    _refuse_nothing(length_m, "The length")
    _refuse_nothing(width_m, "The width")
    _refuse_nothing(cheeses, "The number of cheeses")
    return length_m * width_m * cheeses


def pressure_pa(force: float, area_m2: float) -> float:
    """Pascals from newtons on square metres."""
    _refuse_nothing(area_m2, "The area")
    return force / area_m2


def mass_for_kg(pressure: float, area_m2: float, *, advantage: float = 1.0) -> float:
    """The mass to hang on a press so that a face of area_m2 is under pressure (Pa)."""
    _refuse_nothing(pressure, "The pressure")
    _refuse_nothing(area_m2, "The area")
    _refuse_nothing(advantage, "The advantage of the lever")
    return pressure * area_m2 / (advantage * STANDARD_GRAVITY)


def _refuse_nothing(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} is above zero.", remedy="Measure it and type what you found.")
