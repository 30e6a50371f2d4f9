"""How long reading a day of recording takes, beside plain CSV reads of the same bytes in the same run.

`uv run python benchmarks/recorder_parse.py` prints, for 86,400 rows of one time and four probes, the best of
several runs, and in brackets the ratio to that of (a) the csv module splitting the rows into lists, which converts
nothing, and (b) the csv module with times and numbers converted.
"""

import csv
import io
import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from haccp.science.recorder import read_recorder_file

DAY_S = 86_400
RUNS = 7


def day_file(delimiter: str, decimal_mark: str, *, quoted: bool = False) -> bytes:
    """A day at one sample a second of four probes."""
    values = np.round(60.0 + np.random.default_rng(5).normal(0.0, 2.0, (DAY_S, 4)), 2)
    start = datetime(2026, 3, 14)  # noqa: DTZ001 - a recorder's wall clock
    mark = '"' if quoted else ""
    lines = ["Recorder" + delimiter + "four-channel", "", delimiter.join(["Time", "Milk (°C)", "Air space (°C)"])]
    lines[-1] += delimiter + delimiter.join(["Water (°C)", "Room (°C)"])
    for second, row in enumerate(values):
        cells = (f"{mark}{value:.2f}{mark}".replace(".", decimal_mark) for value in row)
        lines.append(delimiter.join([str(start + timedelta(seconds=second)), *cells]))
    return ("\n".join(lines) + "\n").encode()


def best_of(action: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return min(times)


def main() -> None:
    out = sys.stdout.write
    out(f"{'file':34}{'reader':>10}{'csv split':>14}{'csv converted':>18}\n")
    for name, data, delimiter, mark in (
        ("comma, decimal point", day_file(",", "."), ",", "."),
        ("semicolon, decimal comma", day_file(";", ","), ";", ","),
        ("comma, quoted decimal comma", day_file(",", ",", quoted=True), ",", ","),
    ):
        reader = best_of(lambda data=data: read_recorder_file(data, filename="day.csv", time_zone="Europe/Paris"))
        split = best_of(lambda data=data, delimiter=delimiter: _split(data, delimiter))
        converted = best_of(lambda data=data, delimiter=delimiter, mark=mark: _converted(data, delimiter, mark))
        out(
            f"{name:34}{reader * 1e3:7.0f} ms{split * 1e3:7.0f} ms ({reader / split:.2f})"
            f"{converted * 1e3:7.0f} ms ({reader / converted:.2f})\n"
        )


def _split(data: bytes, delimiter: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode()), delimiter=delimiter))


def _converted(data: bytes, delimiter: str, mark: str) -> list[tuple[datetime, list[float]]]:
    rows = _split(data, delimiter)[3:]
    return [(datetime.fromisoformat(row[0]), [float(cell.replace(mark, ".")) for cell in row[1:]]) for row in rows]


if __name__ == "__main__":
    main()
