"""The release gate as the batch page shows it: first of all."""

from datetime import datetime

from batches.making.models import Make
from batches.making.panels import Panel, Position
from batches.release.actions import STATEMENT
from batches.release.forms import ReleaseForm
from batches.release.gate import gate_of
from batches.release.queries import release_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest


def release_panel(request: ScopedRequest, make: Make, now: datetime, *, refused: ReleaseForm | None = None) -> Panel:
    gate = gate_of(request.scope, make.lot, now)
    return Panel(
        Position.FIRST,
        "release/panel.html",
        {
            "gate": gate,
            "make": make,
            "release": release_of(make.lot),
            "form": refused or ReleaseForm(),
            "may_release": request.scope.may(Right.RELEASE),
            "statement": STATEMENT,
        },
    )
