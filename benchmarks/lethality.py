"""How fast the lethality integral is beside the plain NumPy expression, in one run and in bounded memory.

`uv run python benchmarks/lethality.py [--samples 10000000] [--runs 3]` prints, for samples one second apart, the best
of several runs of the plain expression np.sum(10**((T - T_ref) / z)) * dt, of lethality_even_s, which gives the same
sum less half of its two ends, and of lethality_s, which takes sample times of their own, is exact on straight segments
and passes gaps over; how many times faster each is than the plain expression; and the most memory that each took
beyond its input. The goal is at least three times the speed of the plain expression, in bounded memory, for the form
that computes the same; the last line says whether it was reached. The exact one reads twice as much and does more with
it: about three times. Times are those of the processor, so that other work on the machine matters less.
`--samples 100000000` takes 1.6 GB for the input and 1.6 GB more for the plain expression.
"""

import argparse
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from haccp.science.heat.lethality import lethality_even_s, lethality_s
from haccp.science.trace import FloatArray

REFERENCE_C = 63.0
Z_C = 4.33
GOAL = 3.0
BOUNDED_MB = 10.0


def plain_s(temperature_c: FloatArray) -> float:
    return float(np.sum(10 ** ((temperature_c - REFERENCE_C) / Z_C)) * 1.0)


def best_of(runs: int, action: Callable[[], float]) -> tuple[float, float, float]:
    """Seconds, the result, and the most memory in MB that one more call takes."""
    times = []
    for _ in range(runs):
        began = time.process_time()
        value = action()
        times.append(time.process_time() - began)
    tracemalloc.start()
    action()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return min(times), value, peak / 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description="Speed of the lethality integral")
    parser.add_argument("--samples", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    generator = np.random.default_rng(8)
    # A vat that drifts slowly, with the noise of a probe
    temperature = generator.normal(0.0, 0.02, asked.samples)
    temperature += 63.0 + 2.0 * np.sin(np.arange(asked.samples) / 3000.0)
    t = np.arange(asked.samples, dtype=np.float64)
    out = sys.stdout.write
    out(f"{asked.samples:,} samples, best of {asked.runs}\n")
    plain, expected, memory = best_of(asked.runs, lambda: plain_s(temperature))
    out(f"{'plain NumPy':28}{plain:8.3f} s   1.0x{memory:10.1f} MB   {expected:.10g} s\n")
    reached = True
    for name, action in (
        ("lethality_even_s", lambda: lethality_even_s(temperature, 1.0, REFERENCE_C, Z_C)),
        ("lethality_s", lambda: lethality_s(t, temperature, REFERENCE_C, Z_C)),
    ):
        seconds, value, memory = best_of(asked.runs, action)
        out(f"{name:28}{seconds:8.3f} s{plain / seconds:6.1f}x{memory:10.1f} MB   {value:.10g} s\n")
        if name == "lethality_even_s":
            reached = plain / seconds >= GOAL
        reached = reached and memory <= BOUNDED_MB
    out(f"goal of {GOAL:g}x in at most {BOUNDED_MB:g} MB: {'reached' if reached else 'NOT reached'}\n")


if __name__ == "__main__":
    main()
