"""What of a batch is in stock, beside its page."""

from datetime import datetime

from batches.making.models import Make
from batches.making.panels import Panel, Position
from batches.stock.queries import items_of
from haccp.premises.scope import ScopedRequest


def stock_panel(request: ScopedRequest, make: Make, now: datetime) -> Panel:
    here = [item.now_kg for item in items_of(request.scope.premises, only_here=True).filter(lot=make.pk)]
    return Panel(Position.BESIDE, "stock/panel.html", {"make": make, "count": len(here), "weight_kg": sum(here)})
