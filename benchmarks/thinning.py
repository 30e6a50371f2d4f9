"""How long a year of minute readings from ten sensors takes to thin for a drawing, and that no peak is lost.

`uv run python benchmarks/thinning.py [--sensors 10] [--columns 1200]` prints the best of several runs, in brackets its
ratio to reading the same samples once (their lowest and highest), and how many points are left to draw.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from haccp.drawing.thin import thin

YEAR_MIN = 365 * 24 * 60
RUNS = 5


def main() -> None:
    parser = argparse.ArgumentParser(description="Speed of thinning")
    parser.add_argument("--sensors", type=int, default=10)
    parser.add_argument("--columns", type=int, default=1200)
    asked = parser.parse_args()
    generator = np.random.default_rng(4)
    t = np.arange(YEAR_MIN, dtype=np.float64) * 60
    season = 11 + np.sin(t / 5e6)
    sensors = [season + generator.normal(0, 0.2, YEAR_MIN) for _ in range(asked.sensors)]
    times, bare = [], []
    for _ in range(RUNS):
        began = time.perf_counter()
        kept = [thin(t, values, asked.columns) for values in sensors]
        times.append(time.perf_counter() - began)
        began = time.perf_counter()
        ends = [(values.min(), values.max()) for values in sensors]
        bare.append(time.perf_counter() - began)
    for values, indexes, end in zip(sensors, kept, ends, strict=True):
        if (values[indexes].min(), values[indexes].max()) != end:
            raise SystemExit("A peak was lost.")
    points = sum(indexes.size for indexes in kept)
    sys.stdout.write(
        f"{asked.sensors} sensors, a year of minutes: {min(times) * 1e3:.0f} ms, {min(times) / min(bare):.0f}x the "
        f"bare reading; {points:,} of {asked.sensors * YEAR_MIN:,} points left, no peak lost\n"
    )


if __name__ == "__main__":
    main()
