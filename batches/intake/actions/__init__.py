"""Every write about what comes in: one function, one transaction."""

from batches.intake.actions.acceptance import acceptance_decide
from batches.intake.actions.counts import count_record
from batches.intake.actions.exceptions import exception_open
from batches.intake.actions.findings import FindingTyped, findings_record
from batches.intake.actions.ingredients import ingredient_receive, stock_change
from batches.intake.actions.milk import milk_receive
from batches.intake.actions.suppliers import supplier_add, supplier_change, supplier_retire

__all__ = [
    "FindingTyped",
    "acceptance_decide",
    "count_record",
    "exception_open",
    "findings_record",
    "ingredient_receive",
    "milk_receive",
    "stock_change",
    "supplier_add",
    "supplier_change",
    "supplier_retire",
]
