"""Every write about deviations: one function, one transaction."""

from haccp.deviations.actions.close import deviation_close
from haccp.deviations.actions.open import after_missed, after_record, deviation_report
from haccp.deviations.actions.steps import step_add

__all__ = ["after_missed", "after_record", "deviation_close", "deviation_report", "step_add"]
