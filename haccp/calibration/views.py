"""Pages about calibration: all instruments, one with its history, a new calibration, and what one put in doubt."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from haccp.calibration import actions, queries
from haccp.calibration.forms import CalibrationForm
from haccp.calibration.measuring import methods_of
from haccp.calibration.models import Calibration
from haccp.premises.errors import ActionError
from haccp.premises.models import Instrument
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def overview(request: ScopedRequest) -> HttpResponse:
    """Every instrument in use, and until when each counts."""
    premises = request.scope.premises
    today = premises.local_date(timezone.now())
    context = {"instruments": queries.instruments_standing(premises, today)}
    return render(request, "calibration/overview.html", context)


def _instrument(request: ScopedRequest, instrument_id: UUID) -> Instrument:
    return get_object_or_404(
        Instrument.objects.select_related("place", "premises").filter(premises=request.scope.premises), pk=instrument_id
    )


@needs(Right.READ)
def history(request: ScopedRequest, instrument_id: UUID) -> HttpResponse:
    """One instrument: how it stands, and its calibrations."""
    one = _instrument(request, instrument_id)
    found = queries.calibrations_of(one)
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    method = page[0].method if page.object_list else ""
    context = {
        "instrument": one,
        "unfit": one.unfit_on(request.scope.premises.local_date(timezone.now())),
        "page": page,
        "drift": queries.drift_of([c for c in page if c.method == method and c.method != Calibration.Method.BUFFERS]),
        "methods": [(method.value, method.label) for method in methods_of(one)],
        "may_record": request.scope.may(Right.RECORD) and one.retired_at is None,
    }
    return render(request, "calibration/history.html", context)


@needs(Right.RECORD)
def calibrate(request: ScopedRequest, instrument_id: UUID, method: str) -> HttpResponse:
    scope = request.scope
    one = _instrument(request, instrument_id)
    if method not in methods_of(one):
        raise Http404
    form = CalibrationForm(
        request.POST or None,
        instrument=one,
        method=method,
        today=scope.premises.local_date(timezone.now()),
        unit=scope.user.preferred_unit("temperature"),
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            saved = actions.instrument_calibrate(
                scope=scope, instrument_id=one.pk, method=method, points=form.points(), **form.arguments()
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{one.name}: saved. {saved.left_reason}")
            return redirect("calibration:calibration", saved.pk)
    context: dict[str, object] = {"instrument": one, "method": Calibration.Method(method)}
    return render_form(request, "calibration/calibrate.html", context, form=form, status=status)


@needs(Right.READ)
def calibration(request: ScopedRequest, calibration_id: UUID) -> HttpResponse:
    """One calibration, and all that it put in doubt."""
    found = get_object_or_404(queries.calibrations_on(request.scope.premises), pk=calibration_id)
    doubts = Paginator(queries.doubts_of(found), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "calibration": found,
        "page": doubts,
        "doubts": [(doubt, queries.is_disposed(doubt)) for doubt in doubts],
        "readings": [(one, queries.is_disposed(one)) for one in queries.readings_doubted_by(found)],
        "deviations": queries.deviations_of(found),
    }
    return render(request, "calibration/calibration.html", context)
