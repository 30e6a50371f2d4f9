"""Every write about checks: one function, one transaction."""

from haccp.checks.actions.closed import closed_period_add, reopening_add
from haccp.checks.actions.day import day_sign
from haccp.checks.actions.events import event_correct, event_record, event_withdraw
from haccp.checks.actions.free_days import DaySaid, free_days_say
from haccp.checks.actions.missed import missed_reason_give, missed_reasons_give
from haccp.checks.actions.people import absence_add, absence_end, keeper_set
from haccp.checks.actions.photos import photo_store
from haccp.checks.actions.plan_due import (
    after_approval,
    plan_due_for_lot,
    plan_due_for_premises,
    replan_after_approval,
)
from haccp.checks.actions.plan_review import after_review, plan_due_review
from haccp.checks.actions.records import EntryTyped, Saved, record_amend, record_save
from haccp.checks.actions.revision_move import batch_move_to_revision
from haccp.checks.actions.sweep import sweep
from haccp.checks.actions.traces import trace_store_file

__all__ = [
    "DaySaid",
    "EntryTyped",
    "Saved",
    "absence_add",
    "absence_end",
    "after_approval",
    "after_review",
    "batch_move_to_revision",
    "closed_period_add",
    "day_sign",
    "event_correct",
    "event_record",
    "event_withdraw",
    "free_days_say",
    "keeper_set",
    "missed_reason_give",
    "missed_reasons_give",
    "photo_store",
    "plan_due_for_lot",
    "plan_due_for_premises",
    "plan_due_review",
    "record_amend",
    "record_save",
    "reopening_add",
    "replan_after_approval",
    "sweep",
    "trace_store_file",
]
