"""Methods of cleaning and the chemicals."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from batches.hygiene import actions, queries
from batches.hygiene.forms import ChemicalForm, ChemicalLotForm, MethodForm, initial_of
from batches.hygiene.models import Chemical, Method
from batches.hygiene.sanitising import conditions_for
from haccp.plan.library_store import library_ready
from haccp.premises.errors import ActionError
from haccp.premises.models import Place
from haccp.premises.queries import places_of
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def methods(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    context = {
        "methods": queries.methods_in_use(premises, timezone.now()),
        "places": places_of(premises),
        "may_manage": request.scope.may(Right.MANAGE),
    }
    return render(request, "hygiene/methods.html", context)


@needs(Right.MANAGE)
def method_add(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = Place.objects.filter(premises=request.scope.premises, id=place_id).first()
    if place is None:
        raise Http404
    return _method(request, place, None)


@needs(Right.MANAGE)
def method_change(request: ScopedRequest, method_id: UUID) -> HttpResponse:
    method = queries.method_of(request.scope.premises, method_id)
    if method is None:
        raise Http404
    return _method(request, method.place, method)


def _method(request: ScopedRequest, place: Place, replaces: Method | None) -> HttpResponse:
    premises = request.scope.premises
    form = MethodForm(
        request.POST or None,
        checks=queries.cleaning_checks(premises, place, timezone.now()),
        chemicals=queries.chemicals_of(premises),
        initial=initial_of(replaces) if replaces else None,
    )
    status = 0
    if request.method == "POST":
        try:
            if replaces is not None and "end" in request.POST:
                actions.method_end(scope=request.scope, method_id=uuid4(), replaces_id=replaces.id)
                messages.success(request, f"“{replaces.name}” is no longer asked for.")
                return redirect("hygiene:methods")
            if form.is_valid():
                actions.method_set(
                    scope=request.scope,
                    place_id=place.id,
                    replaces_id=replaces.id if replaces else None,
                    **form.arguments(),
                )
                messages.success(request, "The method is saved.")
                return redirect("hygiene:methods")
        except ActionError as error:
            form.is_valid()
            status = refuse(form, error)
    now = timezone.now()
    library_ready(at=now)
    context: dict[str, object] = {
        "place": place,
        "replaces": replaces,
        "conditions": conditions_for(premises, premises.local_date(now)),
    }
    return render_form(request, "hygiene/method.html", context, form=form, status=status)


@needs(Right.READ)
def chemicals(request: ScopedRequest) -> HttpResponse:
    context = {
        "chemicals": queries.chemicals_of(request.scope.premises),
        "may_manage": request.scope.may(Right.MANAGE),
        "can_record": request.scope.may(Right.RECORD),
        "today": request.scope.premises.local_date(timezone.now()),
    }
    return render(request, "hygiene/chemicals.html", context)


@needs(Right.MANAGE)
def chemical_add(request: ScopedRequest) -> HttpResponse:
    form = ChemicalForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.chemical_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("hygiene:chemicals")
    context: dict[str, object] = {"title": "Add a chemical", "back": "hygiene:chemicals"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)


@needs(Right.RECORD)
def chemical_lot_add(request: ScopedRequest, chemical_id: UUID) -> HttpResponse:
    chemical = Chemical.objects.filter(premises=request.scope.premises, id=chemical_id).first()
    if chemical is None:
        raise Http404
    form = ChemicalLotForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.chemical_lot_add(scope=request.scope, chemical_id=chemical.id, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("hygiene:chemicals")
    context: dict[str, object] = {"title": f"A new lot of {chemical.name}", "back": "hygiene:chemicals"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)
