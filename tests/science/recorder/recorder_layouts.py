"""Writes a trace in the layouts that recorders use, so that a test can read it back."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

PARIS = ZoneInfo("Europe/Paris")

STAMPS: dict[str, Callable[[datetime], str]] = {
    "iso": lambda at: f"{at:%Y-%m-%d %H:%M:%S}",
    "iso_t_fraction": lambda at: f"{at:%Y-%m-%dT%H:%M:%S}.{at.microsecond // 1000:03d}",
    "iso_offset": lambda at: f"{at:%Y-%m-%dT%H:%M:%S%z}",
    "utc_z": lambda at: f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
    "year_slashes": lambda at: f"{at:%Y/%m/%d %H:%M:%S}",
    "day_first": lambda at: f"{at:%d/%m/%Y %H:%M:%S}",
    "month_first": lambda at: f"{at:%m/%d/%Y %H:%M:%S}",
    "month_first_12h": lambda at: f"{at.month}/{at.day}/{at.year} {at.hour % 12 or 12}:{at:%M:%S} {at:%p}",
    "dotted": lambda at: f"{at:%d.%m.%Y %H:%M:%S}",
    "dotted_short": lambda at: f"{at.day}.{at.month}.{at:%y} {at.hour}:{at:%M:%S}",
    "two_columns": lambda at: f"{at:%d.%m.%Y}\0{at:%H:%M:%S}",
    "clock_only": lambda at: f"{at:%H:%M:%S}",
    "elapsed": lambda at: "",
}


@dataclass(frozen=True)
class Written:
    """How a file is written. stamp: key of STAMPS. decimals: of the readings."""

    stamp: str = "iso"
    delimiter: str = ","
    decimal_mark: str = "."
    encoding: str = "utf-8"
    line_end: str = "\n"
    decimals: int = 1
    missing: str = ""
    final_line_end: bool = True
    header: tuple[tuple[str, str], ...] = (("Recorder", "serial 0417"), ("Place", "Vat 1"))
    heads: tuple[str, ...] = ("Milk (°C)", "Air space (°C)")
    start_key: str = field(default="Started")

    def number(self, value: float) -> str:
        if np.isnan(value):
            return self.missing
        text = f"{value:.{self.decimals}f}".replace(".", self.decimal_mark)
        return f'"{text}"' if self.decimal_mark == self.delimiter else text


def seconds(start: datetime, count: int, step_s: float = 1.0) -> list[datetime]:
    """UTC times from an aware start."""
    return [start.astimezone(UTC) + timedelta(seconds=step_s * index) for index in range(count)]


def write(how: Written, utc: list[datetime], zone: ZoneInfo, columns: list[list[float]]) -> bytes:
    """The bytes of a file with these samples."""
    local = [at.astimezone(zone) for at in utc]
    header = list(how.header)
    time_heads = ["Time"]
    if how.stamp == "two_columns":
        time_heads = ["Date", "Time"]
    elif how.stamp == "clock_only":
        header.append((how.start_key, f"{local[0]:%Y-%m-%d}"))
    elif how.stamp == "elapsed":
        header.append((how.start_key, f"{local[0]:%Y-%m-%d %H:%M:%S}"))
        time_heads = ["Elapsed (s)"]
    lines = [how.delimiter.join(pair) for pair in header]
    lines += ["", how.delimiter.join([*time_heads, *how.heads])]
    for index, at in enumerate(local):
        if how.stamp == "elapsed":
            stamp = f"{(utc[index] - utc[0]).total_seconds():.0f}"
        else:
            stamp = STAMPS[how.stamp](at).replace("\0", how.delimiter)
        lines.append(how.delimiter.join([stamp, *(how.number(column[index]) for column in columns)]))
    text = how.line_end.join(lines) + (how.line_end if how.final_line_end else "")
    return text.encode(how.encoding)
