"""Climate of rooms and cold: a slow drift over days, a little of the weather, a little of the door."""

import math
from datetime import datetime

from haccp.config.demo.local_days import chance, local_day

# middle of the range, reach of the slow drift, spread from one reading to the next
_AIR = {"cellar": (11.2, 1.0, 0.25), "cave": (12.6, 0.9, 0.3), "cold": (5.6, 0.6, 0.4), "tank": (4.1, 0.4, 0.3)}
_DAMP = {"cellar": (86.0, 1.8, 0.6), "cave": (94.0, 1.2, 0.5)}
_DRIFT_DAYS = {"cellar": 17.0, "cave": 11.0, "cold": 6.0, "tank": 5.0}


def air(room: str, moment: datetime, shelf: str = "") -> str:
    """°C as read."""
    middle, reach, spread = _AIR[room]
    warmer = 0.3 if shelf == "top" else 0.0
    return f"{_drift(room, moment, middle, reach) + warmer + _noise(room, shelf, moment, spread):.1f}"


def damp(room: str, moment: datetime) -> str:
    """% relative humidity as read."""
    middle, reach, spread = _DAMP[room]
    return f"{_drift(room, moment, middle, reach) + _noise(room, 'damp', moment, spread):.0f}"


def _drift(room: str, moment: datetime, middle: float, reach: float) -> float:
    days = moment.timestamp() / 86400.0
    afternoon = 0.2 * math.sin((days % 1.0 - 0.4) * 2 * math.pi)
    return middle + reach * math.sin(2 * math.pi * days / _DRIFT_DAYS[room]) + afternoon


def _noise(room: str, what: str, moment: datetime, spread: float) -> float:
    return chance(room, what, local_day(moment), moment.hour).uniform(-spread, spread)
