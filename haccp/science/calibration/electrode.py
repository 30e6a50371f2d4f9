"""A pH electrode by two buffers: slope against Nernst's, offset, and whether its readings count."""

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from haccp.science.errors import InputError
from haccp.science.ruling import Ruling, Verdict
from haccp.science.units import spell_duration

_GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018, from memory
_FARADAY = 96485.33212  # C/mol, CODATA 2018, from memory
_NEUTRAL_PH = 7.0


@dataclass(frozen=True, slots=True)
class Buffer:
    """ph: of the buffer at its temperature, from its label. mv: what the meter showed in it."""

    ph: float
    mv: float


@dataclass(frozen=True, slots=True)
class ElectrodeLimits:
    """What still counts. Slope in per cent of Nernst's, offset in mV at pH 7 either way.

    Makers accept slopes from 85 or 90 to 105 % and offsets of 30 mV (read in two makers' notes). reach_ph: how far
    outside its two buffers a reading still counts, and valid_s: how long, are common practice, no source.
    """

    slope_low_percent: float = 90.0
    slope_high_percent: float = 105.0
    offset_mv: float = 30.0
    reach_ph: float = 0.5
    valid_s: float = 86400.0


@dataclass(frozen=True, slots=True)
class Electrode:
    """slope_percent: of Nernst's slope at temperature_c. offset_mv: at pH 7. low_ph, high_ph: the buffers."""

    calibrated_at: datetime
    slope_percent: float
    offset_mv: float
    low_ph: float
    high_ph: float
    temperature_c: float

    def ph_of(self, mv: float, temperature_c: float) -> float:
        """pH of a sample from its mV, the slope brought to the sample's temperature."""
        slope = nernst_mv_per_ph(temperature_c) * self.slope_percent / 100
        return _NEUTRAL_PH - (mv - self.offset_mv) / slope


def nernst_mv_per_ph(temperature_c: float) -> float:
    """ln 10 · R · T / F in mV per pH: 59.16 at 25 °C."""
    return 1000 * math.log(10) * _GAS_CONSTANT * (temperature_c + 273.15) / _FARADAY


def calibrate(at: datetime, first: Buffer, second: Buffer, temperature_c: float) -> Electrode:
    """Slope and offset by two buffers at one temperature. InputError when they lie less than 1 pH apart.

    mV falls as pH rises: a slope that comes out negative means that the buffers were swapped, and is refused.
    """
    low, high = sorted((first, second), key=lambda b: b.ph)
    if not (all(map(math.isfinite, (low.mv, high.mv))) and low.ph >= 0 and high.ph <= 14 and high.ph - low.ph >= 1):
        raise InputError("Two buffers at least 1 pH apart are needed.", remedy="Use pH 7 and pH 4, or 7 and 10.")
    if not 0 <= temperature_c <= 60:
        raise InputError(f"{temperature_c:g} °C is not a buffer's temperature.", remedy="Type it in °C.")
    slope = (low.mv - high.mv) / (high.ph - low.ph)
    if slope <= 0:
        raise InputError("The buffers seem to be swapped.", remedy="Check which reading belongs to which buffer.")
    offset = low.mv - slope * (_NEUTRAL_PH - low.ph)
    percent = slope / nernst_mv_per_ph(temperature_c) * 100
    return Electrode(at, percent, offset, low.ph, high.ph, temperature_c)


_DEFAULT = ElectrodeLimits()


def judge_electrode(electrode: Electrode, limits: ElectrodeLimits = _DEFAULT) -> Verdict:
    """BREACHED for a slope or an offset outside the limits, else MET. margin: of the slope, in per cent."""
    slope, offset = electrode.slope_percent, electrode.offset_mv
    margin = min(slope - limits.slope_low_percent, limits.slope_high_percent - slope)
    shown = f"Slope {slope:.1f} % of Nernst's, offset {offset:+.1f} mV".replace("-", "−")
    facts = {"slope_percent": slope, "offset_mv": offset}
    if margin < 0:
        allowed = f"{limits.slope_low_percent:g} to {limits.slope_high_percent:g} %"
        reason = f"{shown}; the slope must be {allowed}. Clean the electrode, and use fresh buffers."
        return Verdict(Ruling.BREACHED, margin, "electrode.slope", reason, {**facts})
    if abs(offset) > limits.offset_mv:
        reason = f"{shown}; the offset must be within {limits.offset_mv:g} mV. Clean or replace the electrode."
        return Verdict(Ruling.BREACHED, margin, "electrode.offset", reason, {**facts})
    return Verdict(Ruling.MET, margin, "electrode.met", f"{shown}: its readings count.", {**facts})


def unfit_reason(
    electrode: Electrode | None, observed_at: datetime, ph: float, limits: ElectrodeLimits = _DEFAULT
) -> str | None:
    """Why a reading does not count, as an evidence.Reading's unfit takes it; None when it does."""
    if electrode is None or observed_at < electrode.calibrated_at:
        return "the electrode was not calibrated before it"
    verdict = judge_electrode(electrode, limits)
    if not verdict.ruling.is_satisfied:
        return f"the electrode is out: slope {electrode.slope_percent:.1f} %, offset {electrode.offset_mv:.1f} mV"
    age = observed_at.astimezone(UTC) - electrode.calibrated_at.astimezone(UTC)
    if age > timedelta(seconds=limits.valid_s):
        return f"the electrode was calibrated {spell_duration(age.total_seconds())} before it"
    if not electrode.low_ph - limits.reach_ph <= ph <= electrode.high_ph + limits.reach_ph:
        return f"it lies outside the buffers of pH {electrode.low_ph:.2f} and {electrode.high_ph:.2f}"
    return None
