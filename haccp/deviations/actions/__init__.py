"""Every write about deviations: one function, one transaction."""

from haccp.deviations.actions.close import STATEMENT as CLOSING_STATEMENT
from haccp.deviations.actions.close import deviation_close
from haccp.deviations.actions.open import after_missed, after_record, deviation_open, deviation_report
from haccp.deviations.actions.steps import step_add

__all__ = [
    "CLOSING_STATEMENT",
    "after_missed",
    "after_record",
    "deviation_close",
    "deviation_open",
    "deviation_report",
    "step_add",
]
