"""The course of a heat treatment from its trace: how long at or above a temperature, come-up, hold, cool-down, what the
air space did, and how many organisms the lowest credible temperature would have killed."""

from dataclasses import dataclass

import numpy as np

from haccp.science.guard import lowest_credible
from haccp.science.heat import quality
from haccp.science.heat.holding import runs_at_or_above
from haccp.science.heat.intervals import Interval, length_s, longest, subtract, total_s
from haccp.science.heat.lethality import THERMAL_DEATH, ThermalDeath, lethality_s, log_reductions
from haccp.science.trace import FloatArray, Trace

LEGAL_Z_C = 4.33  # °C, implied by 63 °C/30 min and 72 °C/15 s (calculated)


@dataclass(frozen=True, slots=True)
class HeatCourse:
    """On the lowest product probe as it was recorded, at or above threshold_c: its runs with lines drawn across gaps.

    hold: the longest run, offsets in s of the trace; None when it was never reached. proven_s: the longest run on the
    lowest credible temperature (value − U) without the unproven parts. lowest_c, highest_c: within the hold.
    air_space_above_c: how far the coldest air-space probe stayed above threshold_c through the hold.
    """

    threshold_c: float
    hold: Interval | None
    total_s: float
    proven_s: float
    come_up_s: float | None
    cool_down_s: float | None
    lowest_c: float | None
    highest_c: float | None
    air_space_above_c: float | None
    unproven: tuple[quality.Span, ...]

    @property
    def longest_s(self) -> float:
        return length_s(self.hold)

    @property
    def unproven_s(self) -> float:
        return total_s([(span.start_s, span.end_s) for span in self.unproven])


@dataclass(frozen=True, slots=True)
class Kill:
    """log_cut: decimal reductions over the whole trace."""

    death: ThermalDeath
    log_cut: float


@dataclass(frozen=True, slots=True)
class Lethality:
    """f_s: seconds at reference_c that the whole trace is worth at z_c. It never stands in for a law that says
    “continuously at or above”."""

    reference_c: float
    z_c: float
    f_s: float
    uncertainty_c: float
    kills: tuple[Kill, ...]


def lowest_of(trace: Trace, channels: tuple[str, ...]) -> FloatArray:
    """Pointwise lowest of channels, NaN where none has a sample. Shape (n,). ValueError for no channel."""
    if not channels:
        raise ValueError("At least one channel is needed.")
    values = np.stack([trace.channels[name] for name in channels])
    lowest = np.where(np.isfinite(values), values, np.inf).min(axis=0)
    return np.where(np.isfinite(lowest), lowest, np.nan)


def course_of(
    trace: Trace,
    product: tuple[str, ...],
    threshold_c: float,
    *,
    hold_s: float | None = None,
    expanded_uncertainty_c: float = 0.0,
    air_space: tuple[str, ...] = (),
) -> HeatCourse:
    """product, air_space: channels. hold_s: the hold that is to be proven, by which a gap counts as one.

    ValueError for a trace without a product channel.
    """
    lowest = lowest_of(trace, product)
    t = trace.t_s
    gap_s = quality.default_max_gap_s(trace, hold_s)
    spans = tuple(span for name in product for span in quality.spans(trace, name, max_gap_s=gap_s))
    runs = runs_at_or_above(t, lowest, threshold_c)
    hold = longest(runs)
    credible = runs_at_or_above(t, lowest, threshold_c + expanded_uncertainty_c)
    proven = longest(subtract(credible, [(span.start_s, span.end_s) for span in spans]))
    inside = np.array([], dtype=np.float64)
    above = None
    if hold is not None:
        within = (t >= hold[0]) & (t <= hold[1])
        inside = lowest[within & np.isfinite(lowest)]
        if air_space:
            air = lowest_of(trace, air_space)[within]
            air = air[np.isfinite(air)]
            above = float(air.min()) - threshold_c if air.size else None
    return HeatCourse(
        threshold_c=threshold_c,
        hold=hold,
        total_s=total_s(runs),
        proven_s=length_s(proven),
        come_up_s=None if hold is None else hold[0] - float(t[0]),
        cool_down_s=None if hold is None else float(t[-1]) - hold[1],
        lowest_c=float(inside.min()) if inside.size else None,
        highest_c=float(inside.max()) if inside.size else None,
        air_space_above_c=above,
        unproven=spans,
    )


def lethality_of(
    trace: Trace,
    product: tuple[str, ...],
    *,
    reference_c: float,
    z_c: float = LEGAL_Z_C,
    hold_s: float | None = None,
    expanded_uncertainty_c: float = 0.0,
) -> Lethality:
    """On the lowest credible temperature: the lowest product probe less U. Unproven parts count for nothing."""
    lowest = lowest_of(trace, product)
    gap_s = quality.default_max_gap_s(trace, hold_s)
    for name in product:
        for span in quality.spans(trace, name, max_gap_s=gap_s):
            if span.kind is not quality.Flaw.GAP:
                lowest[(trace.t_s >= span.start_s) & (trace.t_s <= span.end_s)] = np.nan
    credible = lowest + lowest_credible(0.0, expanded_uncertainty_c)
    kills = tuple(
        Kill(death, log_reductions(death, trace.t_s, credible, max_gap_s=gap_s)) for death in THERMAL_DEATH.values()
    )
    f_s = lethality_s(trace.t_s, credible, reference_c, z_c, max_gap_s=gap_s)
    return Lethality(reference_c, z_c, f_s, expanded_uncertainty_c, kills)
