"""How the curd of each cheese turns sour, hour by hour after the starter."""

import math
from dataclasses import dataclass
from datetime import date

from haccp.config.demo.local_days import chance


@dataclass(frozen=True, slots=True)
class Curve:
    """A fall from fresh milk's pH to the final one, half of it done after half_h hours."""

    final: float
    half_h: float
    steepness: float

    def at(self, hours: float) -> float:
        fresh = 6.66
        done = 1.0 / (1.0 + math.exp(-self.steepness * (hours - self.half_h)))
        return fresh - (fresh - self.final) * done


HARD = Curve(5.05, 3.6, 1.15)
LACTIC = Curve(4.40, 9.0, 0.55)
WASHED = Curve(5.02, 3.5, 1.15)
SLOW_HARD = Curve(5.25, 6.9, 0.95)
CURVES = {"RE": HARD, "LC": LACTIC, "AS": WASHED}


def ph_reading(code: str, day: date, hours: float, *, slow: bool = False) -> str:
    """As read off the meter. code: of the product. The spread between makes is a quarter of an hour either way."""
    curve = SLOW_HARD if slow else CURVES[code]
    shift_h = chance("acidity", code, day).uniform(-0.25, 0.25)
    noise = chance("ph", code, day, round(hours, 2)).uniform(-0.012, 0.012)
    return f"{curve.at(hours - shift_h) + noise:.2f}"
