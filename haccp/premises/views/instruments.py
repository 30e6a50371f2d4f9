"""Adding, changing and retiring the instruments of the dairy."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from haccp.premises import actions, queries
from haccp.premises.errors import ActionError
from haccp.premises.forms import InstrumentChangeForm, InstrumentForm
from haccp.premises.models import Instrument
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.site_log import seen_sha256
from haccp.premises.views.onward import asked_next, next_page


@needs(Right.MANAGE)
def instrument_add(request: ScopedRequest) -> HttpResponse:
    """?kind= chooses the kind that a plan asks for."""
    form = InstrumentForm(request.POST or None, scope=request.scope, initial={"kind": request.GET.get("kind", "")})
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            instrument = actions.instrument_add(scope=request.scope, **form.stated())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{instrument.name} is added.")
            return redirect(next_page(request, otherwise="premises:dairy"))
    context: dict[str, object] = {"instrument": None, "next": asked_next(request)}
    return render_form(request, "premises/instrument.html", context, form=form, status=status)


@needs(Right.MANAGE)
def instrument_change(request: ScopedRequest, instrument_id: UUID) -> HttpResponse:
    instrument = _instrument_here(request, instrument_id)
    form = InstrumentChangeForm(
        request.POST or None,
        scope=request.scope,
        initial=InstrumentForm.kept(instrument) | {"seen_sha256": seen_sha256(instrument)},
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.instrument_change(scope=request.scope, instrument_id=instrument.pk, **form.stated())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved. Earlier readings are judged as they were.")
            return redirect("premises:dairy")
    context: dict[str, object] = {"instrument": instrument, "next": ""}
    return render_form(request, "premises/instrument.html", context, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def instrument_retire(request: ScopedRequest, instrument_id: UUID) -> HttpResponse:
    instrument = _instrument_here(request, instrument_id)
    actions.instrument_retire(scope=request.scope, instrument_id=instrument.pk)
    messages.success(request, f"{instrument.name} is retired. What it read stays.")
    return redirect("premises:dairy")


@needs(Right.MANAGE)
@require_POST
def instrument_restore(request: ScopedRequest, instrument_id: UUID) -> HttpResponse:
    instrument = _instrument_here(request, instrument_id)
    actions.instrument_restore(scope=request.scope, instrument_id=instrument.pk)
    messages.success(request, f"{instrument.name} is in use again, with the calibration that it had.")
    return redirect("premises:dairy")


def _instrument_here(request: ScopedRequest, instrument_id: UUID) -> Instrument:
    instrument = queries.all_instruments_of(request.scope.premises).filter(pk=instrument_id).first()
    if instrument is None:
        raise Http404
    return instrument
