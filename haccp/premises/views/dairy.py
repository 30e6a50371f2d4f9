"""The dairy itself: what papers say of it, its places and its instruments."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from haccp.premises import actions, queries
from haccp.premises.errors import ActionError
from haccp.premises.forms import DairyForm
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.uncertainty import uncertainty_in_words


@needs(Right.READ)
def dairy(request: ScopedRequest) -> HttpResponse:
    """Places in the order of the walk, and instruments with their calibration, in a constant number of queries."""
    premises = request.scope.premises
    today = premises.local_date(timezone.now())
    places = list(queries.all_places_of(premises))
    instruments = list(queries.all_instruments_of(premises))
    walk = [place for place in places if place.retired_at is None]
    context = {
        "premises": premises,
        "may_manage": request.scope.may(Right.MANAGE),
        "walk": [(place, number - 1, number, number + 1) for number, place in enumerate(walk, start=1)],
        "places_retired": [place for place in places if place.retired_at is not None],
        "instruments": [
            (one, uncertainty_in_words(one), one.unfit_on(today)) for one in instruments if one.retired_at is None
        ],
        "instruments_retired": [one for one in instruments if one.retired_at is not None],
    }
    return render(request, "premises/dairy.html", context)


@needs(Right.MANAGE)
def details(request: ScopedRequest) -> HttpResponse:
    """Name, address and approval number, as papers print them."""
    premises = request.scope.premises
    kept = {name: getattr(premises, name) for name in DairyForm.base_fields}
    form, status = DairyForm(request.POST or None, initial=kept), 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.premises_change(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved. Papers print it from now on.")
            return redirect("premises:dairy")
    return render_form(request, "premises/details.html", {"premises": premises}, form=form, status=status)
