"""Evidence for the tests of the science: short ways to say what was read and recorded."""

from datetime import UTC, datetime, timedelta

import numpy as np

from haccp.science.evidence import Evidence, Reading
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue, Ruling
from haccp.science.trace import FloatArray, Trace

START = datetime(2026, 3, 14, 6, 30, tzinfo=UTC)

# From best to worst
SEVERITY = (Ruling.MET, Ruling.CLOSE, Ruling.AWAITED, Ruling.UNPROVEN, Ruling.BREACHED)


def at_hours(hours: float, value: float, *, uncertainty: float = 0.0, unfit: str | None = None) -> Reading:
    return Reading(START + timedelta(hours=hours), value, expanded_uncertainty=uncertainty, unfit=unfit)


def trace_of(t_s: FloatArray, **channels: FloatArray) -> Trace:
    return Trace(START, np.asarray(t_s, float), {name: np.asarray(v, float) for name, v in channels.items()})


def recorded(
    t_s: FloatArray, *, uncertainty_c: float = 0.0, unfit: str | None = None, **channels: FloatArray
) -> Evidence:
    """Channels whose name starts with air are the air space, all others the product."""
    roles = {name: "air_space" if name.startswith("air") else "product" for name in channels}
    return Evidence(
        trace=trace_of(t_s, **channels),
        roles=roles,
        trace_expanded_uncertainty_c=uncertainty_c,
        trace_unfit=unfit,
    )


def vat_limit(low_c: float = 63.0, hold_s: float = 1800.0, unit: str = "°C", **parameters: JsonValue) -> Limit:
    return Limit(
        "temperature",
        "holding",
        Comparator.AT_LEAST,
        low=low_c,
        parameters={"hold_s": hold_s, **parameters},
        unit=unit,
    )


def vat_run(
    hold_s: float, *, hold_c: float = 63.6, step_s: float = 5.0, ripple_c: float = 0.2
) -> tuple[FloatArray, FloatArray]:
    """A vat warmed from 30 °C, held with a ripple about hold_c for hold_s, then cooled. (t_s, temperature_c)."""
    up, down = 600.0, 600.0
    t = np.arange(0.0, up + hold_s + down + step_s / 2, step_s)
    body = np.interp(t, [0.0, up, up + hold_s, up + hold_s + down], [30.0, hold_c, hold_c, 30.0])
    held = (t >= up) & (t <= up + hold_s)
    return t, np.where(held, body + ripple_c * np.sin(t / 97.0), body)
