"""Pages about deviations: the list, one to be led through, and a report by hand."""

from haccp.deviations.views.detail import close, detail, step
from haccp.deviations.views.listing import deviation_list
from haccp.deviations.views.report import report

__all__ = ["close", "detail", "deviation_list", "report", "step"]
