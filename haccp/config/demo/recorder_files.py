"""Files as a vat recorder writes them: a header block, one row a second, two probes, the time on the wall.

The pasteuriser's recorder is set to decimal commas, that of the thermised vat to points.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from haccp.config.demo.local_days import ZONE
from haccp.science.trace import FloatArray

RESOLUTION_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class Treatment:
    """start_c: milk into the vat. heating_s, hold_s, cooling_s: how long each takes. gap: seconds after the start of
    the hold at which the plug came loose, and for how long; None where it did not."""

    start_c: float
    hold_c: float
    end_c: float
    heating_s: int
    hold_s: int
    cooling_s: int
    gap: tuple[int, int] | None = None

    @property
    def duration_s(self) -> int:
        return self.heating_s + self.hold_s + self.cooling_s


def milk_temperature(treatment: Treatment, seed: int) -> FloatArray:
    """°C at each second, shape (duration_s,): quick at first, settling into the hold, cooled by the jacket."""
    heating = np.linspace(0.0, 1.0, treatment.heating_s, endpoint=False)
    rise = treatment.start_c + (treatment.hold_c - treatment.start_c) * (1 - (1 - heating) ** 1.3)
    hold_t = np.arange(treatment.hold_s)
    hold = treatment.hold_c + 0.15 * np.sin(hold_t / 140.0) * np.minimum(hold_t / 300.0, 1.0)
    cooling = np.linspace(0.0, 1.0, treatment.cooling_s)
    fall = treatment.hold_c + (treatment.end_c - treatment.hold_c) * (1 - np.exp(-2.2 * cooling)) / (1 - np.exp(-2.2))
    clean = np.concatenate([rise, hold, fall])
    noise: FloatArray = np.random.default_rng(seed).normal(0.0, 0.03, clean.size)
    return clean + noise


def write_file(
    treatment: Treatment, *, vat: str, batch: str, started_at: datetime, decimal_comma: bool, seed: int
) -> bytes:
    """The text of the file, UTF-8, CRLF. started_at: aware, a whole second."""
    milk = milk_temperature(treatment, seed)
    air = milk + 1.5 + np.random.default_rng(seed + 1).normal(0.0, 0.06, milk.size)
    local = started_at.astimezone(ZONE)
    separator = ";" if decimal_comma else ","
    header = [
        f"Recorder{separator}Vat recorder R-0093",
        f"Vat{separator}{vat}",
        f"Batch{separator}{batch}",
        f"Started{separator}{local:%Y-%m-%d %H:%M:%S}",
        f"Interval{separator}1 s",
        f"Calibration due{separator}see certificate",
        "",
        separator.join(["Time", "Milk (°C)", "Air space (°C)"]),
    ]
    rows = [
        _row(local + timedelta(seconds=second), (milk[second], air[second]), separator, decimal_comma)
        for second in range(milk.size)
        if not _is_lost(treatment, second)
    ]
    return "\r\n".join([*header, *rows, ""]).encode()


def _is_lost(treatment: Treatment, second: int) -> bool:
    if treatment.gap is None:
        return False
    after, lasting = treatment.gap
    begin = treatment.heating_s + after
    return begin <= second < begin + lasting


def _row(local: datetime, values: tuple[float, float], separator: str, decimal_comma: bool) -> str:
    numbers = [f"{value:.{RESOLUTION_DECIMALS}f}" for value in values]
    if decimal_comma:
        numbers = [number.replace(".", ",") for number in numbers]
    return separator.join([f"{local:%Y-%m-%d %H:%M:%S}", *numbers])
