"""Where a batch came from and went to, beside its page."""

from datetime import datetime

from batches.making.models import Make
from batches.making.panels import Panel, Position
from batches.tracing.amounts import yield_of
from haccp.premises.scope import ScopedRequest


def trace_panel(request: ScopedRequest, make: Make, now: datetime) -> Panel:
    return Panel(Position.BESIDE, "tracing/panel.html", {"make": make, "gave": yield_of(make.lot)})
