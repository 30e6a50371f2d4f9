"""Whether a record was made early, in time or late, and by whom instead of whom, in words."""

from dataclasses import dataclass

from haccp.checks.cover import cover_of
from haccp.checks.models import Record
from haccp.science.schedule.words import duration


@dataclass(frozen=True, slots=True)
class Timing:
    """early, late: how much, in words; "" otherwise. instead_of: whose check it was, where somebody else did it."""

    early: str = ""
    late: str = ""
    instead_of: str = ""


def timing_of(record: Record) -> Timing:
    """By when it was observed, not by when it was typed. Three queries."""
    early = late = ""
    if record.due is not None:
        if record.observed_at < record.due.opens_at:
            early = _words((record.due.due_at - record.observed_at).total_seconds())
        elif record.observed_at > record.due.due_at:
            late = _words((record.observed_at - record.due.due_at).total_seconds())
    cover = cover_of(record.premises, as_of=record.recorded_at)
    doer = cover.doer(record.check_done, record.premises.local_date(record.observed_at))
    expected = doer.person or doer.instead_of
    instead_of = ""
    if expected is not None and expected.user_id != record.recorded_by_id:
        instead_of = expected.user.name
    elif doer.instead_of is not None:
        instead_of = doer.instead_of.user.name
    return Timing(early, late, instead_of)


def _words(seconds: float) -> str:
    """To the minute; under a minute it is in time."""
    return duration(seconds // 60 * 60) if seconds >= 60 else ""
