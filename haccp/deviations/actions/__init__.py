"""Every write about deviations: one function, one transaction."""

from haccp.deviations.actions.close import STATEMENT as CLOSING_STATEMENT
from haccp.deviations.actions.close import deviation_close
from haccp.deviations.actions.open import after_missed, after_record, deviation_open, deviation_report
from haccp.deviations.actions.steps import disposition_add_many, step_add
from haccp.deviations.actions.tasks import evidence_attach, lot_end_record, task_add, task_do
from haccp.deviations.actions.widen import deviation_widen

__all__ = [
    "CLOSING_STATEMENT",
    "after_missed",
    "after_record",
    "deviation_close",
    "deviation_open",
    "deviation_report",
    "deviation_widen",
    "disposition_add_many",
    "evidence_attach",
    "lot_end_record",
    "step_add",
    "task_add",
    "task_do",
]
