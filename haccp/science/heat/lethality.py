"""Lethality of a trace against an organism: F = ∫ 10^((T−Tref)/z) dt, exact on straight segments.

Bigelow's log-linear model (Ball and Bigelow; Stumbo, Thermobacteriology in Food Processing, from memory).
It compares treatments; it never stands in for a law that says "continuously at or above": one z does not reproduce
the legal pairs (63 °C/30 min and 72 °C/15 s imply 4.33 °C, 72 °C/15 s and 89 °C/1 s imply 14.5 °C).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haccp.science.trace import FloatArray

# Samples worked on at a time: temporaries stay in the processor's cache
_CHUNK = 65_536
# Products added up in single precision at a time: few enough that rounding stays below the eighth digit
_ADDED = 16_384
# From so many samples on, single precision is used within a chunk: several times faster, and still seven digits.
# A day at 1 Hz stays in double precision.
_MANY = 500_000


@dataclass(frozen=True, slots=True)
class ThermalDeath:
    """d_s: decimal reduction time at reference_c, in s. z_c: °C for a tenfold change of it.

    known: "read" where the source's figures were read, "memory" where any of them was not (see note).
    """

    organism: str
    d_s: float
    reference_c: float
    z_c: float
    medium: str
    source: str
    known: str
    note: str = ""

    def d_at(self, temperature_c: float) -> float:
        """D in s at another temperature. OverflowError far outside any treatment."""
        return self.d_s * math.pow(10.0, (self.reference_c - temperature_c) / self.z_c)


THERMAL_DEATH: dict[str, ThermalDeath] = {
    "listeria_monocytogenes": ThermalDeath(
        "Listeria monocytogenes", 0.9, 71.7, 6.3, "whole milk", "Bradshaw et al. 1985, J Food Prot 48:743", "read"
    ),
    "coxiella_burnetii": ThermalDeath(
        "Coxiella burnetii",
        1.99,
        71.7,
        4.34,
        "cow's milk",
        "D: IAFP 2016 abstract P11323; z: Enright et al. 1957 as reviewed by Cerf and Condron 2006",
        "memory",
        "D was read; z is from memory, and agrees with 4.33 °C worked out from 63 °C/30 min and 72 °C/15 s.",
    ),
    "mycobacterium_paratuberculosis": ThermalDeath(
        "Mycobacterium avium subsp. paratuberculosis",
        15.0,
        63.0,
        8.6,
        "raw milk, turbulent flow",
        "Pearce et al. 2001, Appl Environ Microbiol 67:3964",
        "read",
        "D at 63 °C is 15.0 ± 2.8 s; the paper bounds D at 72 °C from above only (< 2.03 s).",
    ),
    "staphylococcus_aureus": ThermalDeath(
        "Staphylococcus aureus",
        0.87 * 60,
        60.0,
        9.46,
        "milk",
        "Can J Microbiol 1977, 23:1034",
        "read",
        "The cells only: enterotoxin already made is not destroyed by pasteurisation (from memory).",
    ),
}


def lethality_s(
    t_s: FloatArray, temperature_c: FloatArray, reference_c: float, z_c: float, *, max_gap_s: float = math.inf
) -> float:
    """F in seconds at reference_c.

    t_s, temperature_c: shape (n,), t_s increasing; NaN samples are passed over. A step longer than max_gap_s counts
    for nothing. ValueError for shapes that differ or z_c not above zero.
    """
    if t_s.shape != temperature_c.shape or t_s.ndim != 1:
        raise ValueError("Lethality needs one temperature for each sample time.")
    if not z_c > 0:
        raise ValueError("z is above zero.")
    chunk_s = _Single(t_s.size).chunk_s if t_s.size >= _MANY else _chunk_s
    return math.fsum(
        chunk_s(t, temperature, hottest_c, reference_c, z_c, max_gap_s)
        for t, temperature, hottest_c in _chunks(t_s, temperature_c)
    )


def _chunks(t_s: FloatArray, temperature_c: FloatArray) -> Iterator[tuple[FloatArray, FloatArray, float]]:
    """The samples in chunks, without NaN, each with its hottest; each begins with the last sample of the one before."""
    last = -1
    for i in range(0, t_s.size, _CHUNK):
        start = i - 1 if last == i - 1 and i else i
        t, temperature = t_s[start : i + _CHUNK], temperature_c[start : i + _CHUNK]
        ends = start + temperature.size - 1
        # One NaN among them is their highest: quicker to see than asking each sample
        hottest_c = float(temperature.max())
        if not math.isfinite(hottest_c):
            present = np.flatnonzero(np.isfinite(temperature))
            if not present.size:
                continue
            t, temperature, ends = t[present], temperature[present], start + int(present[-1])
            hottest_c = float(temperature.max())
        if 0 <= last < start:
            t, temperature = np.append(t_s[last], t), np.append(temperature_c[last], temperature)
            hottest_c = max(hottest_c, float(temperature[0]))
        last = ends
        yield t, temperature, hottest_c


def _chunk_s(
    t: FloatArray, temperature: FloatArray, hottest_c: float, reference_c: float, z_c: float, max_gap_s: float
) -> float:
    """Σ Δt·e^a·(e^d − 1)/d, with a = ln10·(T−Tref)/z at the cooler end of each segment and d ≥ 0 its rise."""
    exponent = temperature - reference_c
    exponent *= math.log(10.0) / z_c
    rise = np.abs(np.diff(exponent))
    rate = np.minimum(exponent[:-1], exponent[1:])
    np.exp(rate, out=rate)
    flat = rise < 1e-12
    rise[flat] = 1.0
    mean = np.expm1(rise)
    mean /= rise
    mean[flat] = 1.0
    rate *= mean
    step = np.diff(t)
    step[step > max_gap_s] = 0.0
    rate *= step
    return float(rate.sum())


class _Single:
    """The sum of _chunk_s in single precision, in buffers that are used again for each chunk.

    The mean rate of a segment is e^m · sinh(h) / h, m its middle and h half its rise. Of the series of the second
    factor, 1 + h²/6 + h⁴/120, what comes after is below 5e-8 up to h = 0.25; a steeper chunk is worked on in double
    precision. The terms are small beside the first, so that they are added up as products.
    """

    def __init__(self, samples: int) -> None:
        size = min(samples, _CHUNK) + 1
        self.exponent, self.middle, self.rise, self.step = (np.empty(size, dtype=np.float32) for _ in range(4))

    def chunk_s(
        self, t: FloatArray, temperature: FloatArray, hottest_c: float, reference_c: float, z_c: float, gap_s: float
    ) -> float:
        n, per_c = t.size, math.log(10.0) / z_c
        if n < 2:
            return 0.0
        # About the hottest: single precision is finest near zero, and what lies far below adds next to nothing
        x = np.subtract(temperature, hottest_c, out=self.exponent[:n], casting="same_kind")
        x *= np.float32(per_c / 2)
        square = np.subtract(x[1:], x[:-1], out=self.rise[: n - 1])
        square *= square
        steepest = float(square.max())
        if not steepest <= 0.0625:
            return _chunk_s(t, temperature, hottest_c, reference_c, z_c, gap_s)
        rate = np.add(x[1:], x[:-1], out=self.middle[: n - 1])
        np.exp(rate, out=rate)
        step = np.subtract(t[1:], t[:-1], out=self.step[: n - 1], casting="same_kind")
        if gap_s < math.inf:
            step[step > gap_s] = 0.0
        total = _products(rate, step)
        rate *= step
        total += float(np.dot(rate, square)) / 6
        if steepest > 0.002:
            square *= square
            total += float(np.dot(rate, square)) / 120
        return math.pow(10.0, (hottest_c - reference_c) / z_c) * total


def _products(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    """Σ one·other, in stretches that single precision adds up well."""
    return math.fsum(float(np.dot(one[i : i + _ADDED], other[i : i + _ADDED])) for i in range(0, one.size, _ADDED))


def lethality_even_s(temperature_c: FloatArray, step_s: float, reference_c: float, z_c: float) -> float:
    """F in seconds at reference_c of samples step_s apart: trapezoids, for long traces where speed counts.

    It exceeds the exact integral of lethality_s by a share of d²/12 at most, d = ln10 × (change per sample) / z: by
    two parts in a million for a change of 0.01 °C. temperature_c: shape (n,), without a gap.
    ValueError for a sample that is missing, and for step_s or z_c not above zero.
    """
    if temperature_c.ndim != 1 or not (step_s > 0 and z_c > 0):
        raise ValueError("Lethality needs a row of temperatures, and a step and a z above zero.")
    if temperature_c.size < 2:
        return 0.0
    kind = np.float32 if temperature_c.size >= _MANY else np.float64
    work = np.empty(min(_CHUNK, temperature_c.size), dtype=kind)
    sums = []
    for i in range(0, temperature_c.size, _CHUNK):
        chunk = temperature_c[i : i + _CHUNK]
        hottest_c = float(chunk.max())
        rate = np.subtract(chunk, hottest_c, out=work[: chunk.size], casting="same_kind")
        rate *= kind(math.log(10.0) / z_c)
        sums.append(math.pow(10.0, (hottest_c - reference_c) / z_c) * float(np.exp(rate, out=rate).sum()))
    ends = math.fsum(math.pow(10.0, (float(temperature_c[i]) - reference_c) / z_c) / 2 for i in (0, -1))
    total = (math.fsum(sums) - ends) * step_s
    if math.isnan(total):
        raise ValueError("A sample is missing: use lethality_s, which passes gaps over.")
    return total


def log_reductions(
    death: ThermalDeath, t_s: FloatArray, temperature_c: FloatArray, *, max_gap_s: float = math.inf
) -> float:
    """Decimal reductions of an organism over a trace: F / D. Arguments as for lethality_s."""
    return lethality_s(t_s, temperature_c, death.reference_c, death.z_c, max_gap_s=max_gap_s) / death.d_s


def log_reductions_of_hold(death: ThermalDeath, temperature_c: float, hold_s: float) -> float:
    """Decimal reductions at one temperature, held for hold_s."""
    return hold_s / death.d_at(temperature_c)


def z_between(first_c: float, first_s: float, second_c: float, second_s: float) -> float:
    """z (°C) that makes two time-temperature pairs, or two D values, equal. ValueError when no z does."""
    if first_s <= 0 or second_s <= 0 or first_s == second_s or first_c == second_c:
        raise ValueError("Two different temperatures and two different times above zero are needed.")
    return (second_c - first_c) / math.log10(first_s / second_s)


def equal_hold_s(temperature_c: float, reference_c: float, reference_s: float, z_c: float) -> float:
    """Seconds at temperature_c that equal reference_s at reference_c."""
    return reference_s * math.pow(10.0, (reference_c - temperature_c) / z_c)
