"""What every section is laid out for."""

from dataclasses import dataclass, field, replace

from haccp.drawing.layout import PRINT
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import Tick
from haccp.reports.draw.paper import Paper
from haccp.reports.layout.addresses import Addresses

THREE_TO_A_PAGE = replace(PRINT, height=236)
# With a QR code beside the words above it.
CODED_THREE_TO_A_PAGE = replace(PRINT, height=208)


@dataclass(frozen=True, slots=True)
class Sheet:
    """tick: told how many lines or pictures have been laid out, for the progress bar. has_records: whether the
    records of the plan stand in the same document.
    """

    paper: Paper
    time: LocalTime
    tick: Tick
    has_records: bool = True
    addresses: Addresses = field(default_factory=lambda: Addresses(""))
