"""Pages about deviations: the list, one to be led through, and a report by hand."""

from haccp.deviations.views.detail import close, detail, step
from haccp.deviations.views.listing import deviation_list
from haccp.deviations.views.more import attach, decide, evidence, lot_end, task_add, task_do, widen
from haccp.deviations.views.report import report

__all__ = [
    "attach",
    "close",
    "decide",
    "detail",
    "deviation_list",
    "evidence",
    "lot_end",
    "report",
    "step",
    "task_add",
    "task_do",
    "widen",
]
