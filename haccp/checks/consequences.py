"""What follows from a ruling or a missed check, in the same transaction.

Rooms above register what they do about it at start-up (deviations opens one); checks need not know them.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

from haccp.checks.models import MissedCheck, Record, RulingRow
from haccp.premises.scope import Scope

AfterRecord = Callable[[Scope, Record, Sequence[RulingRow], datetime], None]
AfterMissed = Callable[[Sequence[MissedCheck], datetime], None]

_after_record: list[AfterRecord] = []
_after_missed: list[AfterMissed] = []


def register(*, after_record: AfterRecord, after_missed: AfterMissed) -> None:
    """Called from an AppConfig.ready(); calling twice with the same functions changes nothing."""
    if after_record not in _after_record:
        _after_record.append(after_record)
    if after_missed not in _after_missed:
        _after_missed.append(after_missed)


def record_saved(scope: Scope, record: Record, rulings: Sequence[RulingRow], at: datetime) -> None:
    for follow in _after_record:
        follow(scope, record, rulings, at)


def checks_missed(missed: Sequence[MissedCheck], at: datetime) -> None:
    """Of one or many premises, in the order in which their grace ended; the premises are locked."""
    for follow in _after_missed:
        follow(missed, at)
