"""The usual course of a make: which events follow which. Common practice, no source: cheeses differ, so any event
may be recorded at any time; the order only says which is offered first."""

from collections.abc import Collection

from batches.making.models import StageKind, StageReading
from haccp.lots.kinds import EventKind

USUAL_ORDER = (
    EventKind.STARTER_ADDED,
    EventKind.RENNET_ADDED,
    EventKind.CUT,
    EventKind.DRAINED,
    EventKind.MOULDED,
    EventKind.PRESSED,
    EventKind.SALTED,
)

# What a stage of the make sheet stands for
EVENTS = {
    StageKind.RIPEN: EventKind.STARTER_ADDED,
    StageKind.RENNET: EventKind.RENNET_ADDED,
    StageKind.CUT: EventKind.CUT,
    StageKind.DRAIN: EventKind.DRAINED,
    StageKind.MOULD: EventKind.MOULDED,
    StageKind.PRESS: EventKind.PRESSED,
    StageKind.SALT: EventKind.SALTED,
}

# There is one pH and one acidity of a vat at a moment; a temperature is the milk's, the curd's or the room's
ONE_AT_A_TIME = (StageReading.What.PH, StageReading.What.ACIDITY)


def next_events(recorded: Collection[str]) -> tuple[EventKind, ...]:
    """Events of the make not recorded yet, in their usual order: first those after the last one recorded, then
    those that were passed over."""
    reached = max((i for i, kind in enumerate(USUAL_ORDER) if kind in recorded), default=-1)
    ahead = USUAL_ORDER[reached + 1 :]
    passed_over = tuple(kind for kind in USUAL_ORDER[: reached + 1] if kind not in recorded)
    return (*ahead, *passed_over)
