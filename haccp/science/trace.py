"""A recorded time series of one or more probes: the evidence behind a heat treatment or a room's climate."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """Samples of several channels on one clock.

    started_at: aware UTC datetime of t = 0.
    t_s: shape (n,), seconds since started_at, strictly increasing.
    channels: name -> values, each shape (n,), SI of the channel's quantity (°C for temperature); NaN = no sample.
    """

    started_at: datetime
    t_s: FloatArray
    channels: dict[str, FloatArray]

    def __post_init__(self) -> None:
        if self.started_at.tzinfo is None:
            raise ValueError("A trace starts at an aware time; give started_at a time zone.")
        if self.t_s.ndim != 1 or any(values.shape != self.t_s.shape for values in self.channels.values()):
            raise ValueError("Every channel of a trace has one value per sample time.")
        if self.t_s.size > 1 and not bool(np.all(np.diff(self.t_s) > 0)):
            raise ValueError("The sample times of a trace increase from one to the next.")

    def at(self, t_s: float) -> datetime:
        """The UTC time of an offset in seconds."""
        return self.started_at + timedelta(seconds=float(t_s))

    @property
    def duration_s(self) -> float:
        return float(self.t_s[-1] - self.t_s[0]) if self.t_s.size else 0.0
