"""Tables to be taken away, as CSV or as a spreadsheet."""

import tempfile
from datetime import date

from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.reports import queries
from haccp.reports.exports.table import Days
from haccp.reports.exports.tables import TABLES
from haccp.reports.exports.writing import csv_lines, write_xlsx
from haccp.reports.forms import DaysForm

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
IN_MEMORY_BYTES = 4 * 1024 * 1024


@needs(Right.READ)
@require_GET
def listing(request: ScopedRequest) -> HttpResponse:
    """Every table there is; ?period_from= and ?period_to= set the days that its files hold."""
    form = _days_form(request)
    days = form.cleaned_data if form.is_valid() else {}
    context = {"form": form, "tables": TABLES.values(), "days": days}
    return render(request, "reports/tables.html", context, status=200 if days else 422)


@needs(Right.READ)
@require_GET
def table(request: ScopedRequest, table: str, filetype: str) -> HttpResponseBase:
    """The file; of the last thirty days unless others are named."""
    form = _days_form(request)
    if table not in TABLES or filetype not in ("csv", "xlsx"):
        raise Http404("There is no such table.")
    if not form.is_valid():
        return render(request, "reports/tables.html", {"form": form, "tables": TABLES.values()}, status=422)
    premises = request.scope.premises
    wanted = TABLES[table]
    days = Days.of(premises, form.cleaned_data["period_from"], form.cleaned_data["period_to"])
    name = _name(premises.name, table, days.first, days.last, filetype)
    answer: HttpResponseBase
    if filetype == "csv":
        answer = StreamingHttpResponse(csv_lines(wanted, premises, days), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = f'attachment; filename="{name}"'
    else:
        made = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115  (the answer closes it)
        write_xlsx(made, wanted, premises, days, by=request.scope.user.name, made_at=timezone.now())
        made.seek(0)
        answer = FileResponse(made, as_attachment=True, filename=name, content_type=XLSX)
    answer["Cache-Control"] = "private, no-store"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _days_form(request: ScopedRequest) -> DaysForm:
    first, last = queries.usual_period(request.scope.premises.local_date(timezone.now()))
    named = "period_from" in request.GET or "period_to" in request.GET
    return DaysForm(request.GET if named else {"period_from": first, "period_to": last})


def _name(premises: str, table: str, first: date, last: date, filetype: str) -> str:
    return f"{slugify(premises)[:60] or 'dairy'}-{table}-{first.isoformat()}-to-{last.isoformat()}.{filetype}"
