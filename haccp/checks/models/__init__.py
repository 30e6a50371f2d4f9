"""Due checks, records with their readings and rulings, missed checks, the day book's sign-off."""

from haccp.checks.models.day import DaySignature
from haccp.checks.models.due import DueCheck, MissedCheck, MissedReason, PlanningMark, SweepRun
from haccp.checks.models.record import Reading, Record, RulingRow
from haccp.checks.models.trace import TraceFile

__all__ = [
    "DaySignature",
    "DueCheck",
    "MissedCheck",
    "MissedReason",
    "PlanningMark",
    "Reading",
    "Record",
    "RulingRow",
    "SweepRun",
    "TraceFile",
]
