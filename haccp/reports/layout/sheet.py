"""What every section is laid out for."""

from dataclasses import dataclass

from haccp.reports.draw.document import Tick
from haccp.reports.draw.paper import Paper
from haccp.reports.layout.dates import LocalTime


@dataclass(frozen=True, slots=True)
class Sheet:
    """tick: told how many lines or pictures have been laid out, for the progress bar."""

    paper: Paper
    time: LocalTime
    tick: Tick
