"""The checks of one lot in order, each with how it stands now."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from haccp.checks.doubts import say_doubts
from haccp.checks.models import DueCheck, MissedCheck, Record
from haccp.checks.queries import due_of_lot


class State(StrEnum):
    DONE = "done"
    MISSED = "missed"
    LATE = "late"  # past its time, still in grace
    DUE = "due now"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class LotCheck:
    """record: its latest version, also where it came after the check was missed."""

    due: DueCheck
    state: State
    record: Record | None
    missed: MissedCheck | None

    @property
    def can_be_done(self) -> bool:
        return self.state in (State.LATE, State.DUE)

    @property
    def lacks_reason(self) -> bool:
        return self.missed is not None and not hasattr(self.missed, "reason")


def checks_of_lot(lot_id: UUID, now: datetime) -> tuple[LotCheck, ...]:
    """In the order in which they fall due; a constant number of queries."""
    found = tuple(_lot_check(due, now) for due in due_of_lot(lot_id))
    say_doubts(one.record for one in found if one.record is not None)
    return found


def _lot_check(due: DueCheck, now: datetime) -> LotCheck:
    record = next(iter(due.records.all()), None)
    missed = getattr(due, "missed", None)
    return LotCheck(due, _state(due, record, missed, now), record, missed)


def _state(due: DueCheck, record: Record | None, missed: MissedCheck | None, now: datetime) -> State:
    if missed is not None:
        return State.MISSED
    if record is not None:
        return State.DONE
    if due.opens_at > now:
        return State.LATER
    return State.DUE if now <= due.due_at else State.LATE
