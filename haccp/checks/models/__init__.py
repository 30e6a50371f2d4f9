"""Due checks, records with their readings and rulings, missed checks, the day book's sign-off."""

from haccp.checks.models.closed import ClosedPeriod, Reopening
from haccp.checks.models.day import DaySignature
from haccp.checks.models.due import DayLeftUnreviewed, DueCheck, MissedCheck, MissedReason, PlanningMark, SweepRun
from haccp.checks.models.free_day import FreeDay
from haccp.checks.models.people import Absence, BackAgain, Keeper
from haccp.checks.models.photo import PhotoFile
from haccp.checks.models.record import Reading, Record, RulingRow
from haccp.checks.models.trace import TraceFile

__all__ = [
    "Absence",
    "BackAgain",
    "ClosedPeriod",
    "DayLeftUnreviewed",
    "DaySignature",
    "DueCheck",
    "FreeDay",
    "Keeper",
    "MissedCheck",
    "MissedReason",
    "PhotoFile",
    "PlanningMark",
    "Reading",
    "Record",
    "Reopening",
    "RulingRow",
    "SweepRun",
    "TraceFile",
]
