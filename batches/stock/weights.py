"""Weights as people type them: one, or a list of them."""

import re
from dataclasses import dataclass

from haccp.premises.errors import ActionError
from haccp.science.errors import InputError
from haccp.science.units import read_typed

MOST_AT_ONCE = 500
ROUNDING_KG = 0.005  # scales of a cheese room show 5 g or 10 g; common practice, no source
_TIMES = re.compile(r"^\s*(\d+)\s*[x×*]\s*(.+)$", re.IGNORECASE)
_BETWEEN = re.compile(r"[;\n]+|,\s+|\s+")


@dataclass(frozen=True, slots=True)
class Weight:
    """kg, beside what was typed."""

    kg: float
    text: str
    unit: str


def read_weight(text: str, unit: str, *, field: str = "weight") -> Weight:
    """Raises ActionError on the field for what is no weight, or none."""
    try:
        typed = read_typed("mass", text.strip(), unit)
    except InputError as error:
        raise ActionError(str(error), field=field) from error
    if typed.value_si <= 0:
        raise ActionError("Enter how much it weighs, more than nothing.", field=field)
    return Weight(typed.value_si, text.strip(), unit)


def read_weights(text: str, unit: str, *, field: str = "weights") -> list[Weight]:
    """One weight to a line, or apart by blanks or semicolons; "12 × 3.2" stands for twelve of 3.2."""
    found: list[Weight] = []
    for line in text.strip().splitlines():
        times = _TIMES.match(line)
        if times:
            _refuse_many(int(times[1]), field)
            found += [read_weight(times[2], unit, field=field)] * int(times[1])
        else:
            found += [read_weight(part, unit, field=field) for part in _BETWEEN.split(line.strip()) if part]
        _refuse_many(len(found), field)
    if not found:
        raise ActionError("Enter what each weighs: one weight to a line, or “12 × 3.2”.", field=field)
    return found


def _refuse_many(count: int, field: str) -> None:
    if count > MOST_AT_ONCE:
        raise ActionError(f"Enter at most {MOST_AT_ONCE} at once.", field=field)
