"""What is laid before a limit: readings, answers, events of the batch, a trace."""

import math
from dataclasses import dataclass, field
from datetime import datetime

from haccp.science.trace import Trace


@dataclass(frozen=True, slots=True)
class Reading:
    """One value read off one instrument.

    value: SI of the limit's quantity; None for an answer (see choice).
    expanded_uncertainty: U (k = 2, about 95 %) in the same unit; 0 where the instrument states none.
    unfit: why the instrument cannot be relied on ("calibration ran out on 2026-11-01"), None when it can.
    """

    observed_at: datetime
    value: float | None = None
    choice: str | None = None
    label: str = ""
    expanded_uncertainty: float = 0.0
    unfit: str | None = None

    def __post_init__(self) -> None:
        _check_uncertainty(self.expanded_uncertainty)


@dataclass(frozen=True, slots=True)
class Evidence:
    """readings: in order of observation. events: kind of event -> first time it happened (UTC).
    trace: a recorder's samples, with trace_uncertainty_c (U, k = 2) and trace_unfit as for a reading.
    roles: what each channel of the trace measures, channel name -> "product" | "air_space" | "other".
    as_of: the moment of judging, for a limit that time alone can settle; keep it with the verdict, so that judging
        again gives the same. None: the moment of the last reading.
    """

    readings: tuple[Reading, ...] = ()
    events: dict[str, datetime] = field(default_factory=dict)
    trace: Trace | None = None
    roles: dict[str, str] = field(default_factory=dict)
    trace_expanded_uncertainty_c: float = 0.0
    trace_unfit: str | None = None
    as_of: datetime | None = None

    def __post_init__(self) -> None:
        _check_uncertainty(self.trace_expanded_uncertainty_c)


def _check_uncertainty(expanded_uncertainty: float) -> None:
    if not (math.isfinite(expanded_uncertainty) and expanded_uncertainty >= 0):
        raise ValueError("An expanded uncertainty is a finite number, zero or more.")
