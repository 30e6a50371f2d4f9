"""Swabs by zone: what is due, taking them, and what was found."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from batches.hygiene import actions, queries
from batches.hygiene.environment import points_now, rotas_in_use
from batches.hygiene.forms import RotaForm, SwabForm, SwabPointForm, SwabResultForm, SwabsSendForm
from batches.hygiene.models import SwabPoint
from batches.laboratory.queries import laboratories_of
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.local_time import keep_current
from haccp.premises.queries import places_of
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def swabs(request: ScopedRequest) -> HttpResponse:
    premises, now = request.scope.premises, timezone.now()
    points = points_now(premises, now)
    zones = [(SwabPoint.Zone(zone).label, [one for one in points if one.point.zone == zone]) for zone in SwabPoint.Zone]
    context = {
        "zones": [(label, found) for label, found in zones if found],
        "rotas": rotas_in_use(premises),
        "to_send": len(queries.swabs_to_send(premises)),
        "may_manage": request.scope.may(Right.MANAGE),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render(request, "hygiene/swabs.html", context)


@needs(Right.MANAGE)
def point_add(request: ScopedRequest) -> HttpResponse:
    form = SwabPointForm(request.POST or None, places=list(places_of(request.scope.premises)))
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.swab_point_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("hygiene:swabs")
    context: dict[str, object] = {"title": "Add a point", "back": "hygiene:swabs"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)


@needs(Right.MANAGE)
def rota_set(request: ScopedRequest) -> HttpResponse:
    revision = revision_in_force(request.scope.premises, timezone.now())
    form = RotaForm(request.POST or None, points=list(revision.control_points.all()) if revision else [])
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.rota_set(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("hygiene:swabs")
    context: dict[str, object] = {"title": "Set the rota of a zone", "back": "hygiene:swabs"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)


@needs(Right.RECORD)
def swab_take(request: ScopedRequest, point_id: UUID) -> HttpResponse:
    point = SwabPoint.objects.filter(place__premises=request.scope.premises, id=point_id).first()
    if point is None:
        raise Http404
    now = timezone.now().replace(second=0, microsecond=0)
    form = SwabForm(request.POST or None, initial={"taken_at": now})
    keep_current(form, "taken_at")
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.swab_take(scope=request.scope, point_id=point.id, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"Swab of {point} recorded; send it to the laboratory, or enter its result here.")
            return redirect("hygiene:swabs")
    context: dict[str, object] = {"title": f"Swab: {point}", "back": "hygiene:swabs"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)


@needs(Right.RECORD)
def swabs_send(request: ScopedRequest) -> HttpResponse:
    """Swabs that wait become samples of the laboratory."""
    scope = request.scope
    waiting = queries.swabs_to_send(scope.premises)
    now = timezone.now().replace(second=0, microsecond=0)
    form = SwabsSendForm(
        request.POST or None, swabs=waiting, temperature_unit=scope.user.temperature_unit, initial={"sent_at": now}
    )
    keep_current(form, "sent_at")
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        try:
            sent = actions.swabs_send(scope=scope, swab_ids=typed.pop("swabs"), **typed)
        except ActionError as error:
            status = refuse(form, error)
        else:
            codes = ", ".join(one.test.sample.code for one in sent)
            messages.success(request, f"Recorded as {codes}: write this on the tubes.")
            return redirect("laboratory:list")
    context: dict[str, object] = {"waiting": waiting, "laboratories": laboratories_of(scope.premises)}
    return render_form(request, "hygiene/swabs_send.html", context, form=form, status=status)


@needs(Right.READ)
def swab(request: ScopedRequest, swab_id: UUID) -> HttpResponse:
    found = queries.swab_of(request.scope.premises, swab_id)
    if found is None:
        raise Http404
    context = {
        "swab": found,
        "result": found.result,
        "earlier": [one for one in found.results.all() if one != found.result],
        "sent": getattr(found, "sent", None),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render(request, "hygiene/swab.html", context)


@needs(Right.RECORD)
def swab_result(request: ScopedRequest, swab_id: UUID) -> HttpResponse:
    found = queries.swab_of(request.scope.premises, swab_id)
    if found is None:
        raise Http404
    if hasattr(found, "sent"):
        return redirect("laboratory:result", found.sent.test_id)
    form = SwabResultForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            result = actions.swab_result_add(scope=request.scope, swab_id=found.id, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            if result.deviation is not None:
                messages.warning(request, f"A find: it opened deviation {result.deviation.reference}.")
            return redirect("hygiene:swab", found.pk)
    context: dict[str, object] = {"title": f"Result of swab {found.code}", "back": "hygiene:swabs"}
    return render_form(request, "hygiene/form.html", context, form=form, status=status)
