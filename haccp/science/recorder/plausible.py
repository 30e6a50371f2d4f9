"""Values that a probe in milk cannot have: marks for a broken probe, °F under a label of °C, spikes."""

from dataclasses import dataclass

import numpy as np

from haccp.science.recorder import messages
from haccp.science.recorder.cells import IntArray
from haccp.science.trace import FloatArray

# Common practice, no source: full-scale and overflow codes that instruments write for an open or shorted probe.
BREAK_MARKS = (
    999.0, 999.9, 9999.0, 9999.9, 99999.0, 999999.0, 850.0, 3276.7, 6553.5, 32767.0, 32768.0, 65535.0,
    -127.0, -999.0, -999.9, -9999.0, -9999.9, -3276.8, -32768.0, -99999.0,
)  # fmt: skip
LOW_C = -40.0
HIGH_C = 160.0  # steam and heating media
HIGH_F = HIGH_C * 1.8 + 32.0
# Common practice, no source: milk heated for cheese stays well below this, in a plate heater under pressure too.
MILK_HIGH_C = 110.0
# 130 to 185 °F is 54 to 85 °C: where heated milk spends its time.
_HEATED_F = (130.0, 185.0)
_MORE_THAN_A_SPIKE = 0.05


@dataclass(frozen=True, slots=True)
class Probe:
    """A temperature column as labelled. unit: "°C" or "°F". labelled: the head's text. sure: the unit was chosen.

    hot: named for steam, a jacket or a heating medium, which may be hotter than milk.
    """

    name: str
    unit: str
    labelled: str
    sure: bool
    hot: bool


def to_celsius(values: FloatArray, lines: IntArray, probe: Probe) -> FloatArray:
    """°C, shape (n,), NaN kept. Raises InputError naming the first line with a value that cannot be."""
    broken = np.flatnonzero(np.isin(values, BREAK_MARKS))
    if broken.size:
        row = int(broken[0])
        raise messages.broken_probe(int(lines[row]), probe.name, float(values[row]), probe.unit)
    if probe.unit == "°C" and not probe.sure and not probe.hot:
        _refuse_fahrenheit(values, lines, probe)
    celsius = (values - 32.0) / 1.8 if probe.unit == "°F" else values
    high = HIGH_C if probe.hot or (probe.sure and probe.unit == "°C") else MILK_HIGH_C
    outside = np.flatnonzero((celsius < LOW_C) | (celsius > high))
    if outside.size:
        row = int(outside[0])
        raise messages.implausible(int(lines[row]), probe.name, float(values[row]), probe.unit, LOW_C, high)
    return celsius


def _refuse_fahrenheit(values: FloatArray, lines: IntArray, probe: Probe) -> None:
    present = values[~np.isnan(values)]
    if not present.size:
        return
    too_hot = float(np.mean((present > MILK_HIGH_C) & (present <= HIGH_F))) >= _MORE_THAN_A_SPIKE
    if too_hot or _HEATED_F[0] <= float(np.median(present)) <= _HEATED_F[1]:
        row = int(np.nanargmax(values > MILK_HIGH_C))
        low, high = float(present.min()), float(present.max())
        raise messages.looks_like_fahrenheit(int(lines[row]), probe.name, probe.labelled, low, high)
