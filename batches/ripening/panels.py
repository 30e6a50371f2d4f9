"""What ripening has to say on the page of a batch."""

from datetime import datetime

from batches.laboratory.queries import lines_of_lots
from batches.making.models import Make
from batches.making.panels import Panel, Position, register
from batches.ripening.ageing_clock import clocks_of
from batches.ripening.ageing_picture import clocks_in_words
from batches.ripening.forms import CareForm
from batches.ripening.neglect import care_of
from batches.ripening.weights import weights_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest


def ageing(request: ScopedRequest, make: Make, now: datetime) -> Panel:
    premises = request.scope.premises
    clock = clocks_of(premises, [make.lot], now)[make.lot_id]
    return Panel(
        Position.AFTER, "ripening/ageing.html", {"batch_clock": clock, "clocks": clocks_in_words(premises, clock)}
    )


def laboratory(request: ScopedRequest, make: Make, now: datetime) -> Panel:
    lines = lines_of_lots([make.lot]).get(make.lot_id, [])
    data = {"lines": lines, "lot": make.lot, "may_record": request.scope.may(Right.RECORD)}
    return Panel(Position.AFTER, "laboratory/panel.html", data)


def care(request: ScopedRequest, make: Make, now: datetime) -> Panel:
    data = {
        "care": care_of(make.lot_id),
        "weights": weights_of(make.lot_id),
        "lot": make.lot,
        "care_form": CareForm(),
        "may_record": request.scope.may(Right.RECORD),
    }
    return Panel(Position.AFTER, "ripening/care_panel.html", data)


def add_panels() -> None:
    register("ageing", ageing)
    register("care", care)
    register("laboratory", laboratory)
