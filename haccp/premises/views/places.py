"""Adding, changing, moving and retiring the places of the dairy."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from haccp.premises import actions, queries
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.forms import PlaceChangeForm, PlaceForm
from haccp.premises.models import Place
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.site_log import seen_sha256
from haccp.premises.views.onward import asked_next, next_page


@needs(Right.MANAGE)
def place_add(request: ScopedRequest) -> HttpResponse:
    form, status = PlaceForm(request.POST or None), 0
    if request.method == "POST" and form.is_valid():
        try:
            place = actions.place_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{place.name} is added, at the end of the walk.")
            return redirect(next_page(request, otherwise="premises:dairy"))
    context: dict[str, object] = {"place": None, "next": asked_next(request)}
    return render_form(request, "premises/place.html", context, form=form, status=status)


@needs(Right.MANAGE)
def place_change(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = _place_here(request, place_id)
    kept = {"name": place.name, "kind": place.kind, "seen_sha256": seen_sha256(place)}
    form, status = PlaceChangeForm(request.POST or None, initial=kept), 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.place_change(scope=request.scope, place_id=place.pk, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved. Earlier records keep the place.")
            return redirect("premises:dairy")
    return render_form(request, "premises/place.html", {"place": place, "next": ""}, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def place_move(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = _place_here(request, place_id)
    position = request.POST.get("position", "")
    if not position.isascii() or not position.isdigit() or len(position) > 4:
        messages.error(request, "Give a position in the walk, such as 3.")
    else:
        _done_or_said(
            request, lambda: actions.place_move(scope=request.scope, place_id=place.pk, position=int(position))
        )
    return redirect("premises:dairy")


@needs(Right.MANAGE)
@require_POST
def place_retire(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = _place_here(request, place_id)
    if _done_or_said(request, lambda: actions.place_retire(scope=request.scope, place_id=place.pk)):
        messages.success(request, f"{place.name} is retired. What was recorded there stays.")
    return redirect("premises:dairy")


@needs(Right.MANAGE)
@require_POST
def place_restore(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = _place_here(request, place_id)
    if _done_or_said(request, lambda: actions.place_restore(scope=request.scope, place_id=place.pk)):
        messages.success(request, f"{place.name} is in use again, at the end of the walk.")
    return redirect("premises:dairy")


def _done_or_said(request: ScopedRequest, act: Callable[[], object]) -> bool:
    """Whether it was done; a refusal is said on the page that follows, which shows the place as it stands."""
    try:
        act()
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
        return False
    return True


def _place_here(request: ScopedRequest, place_id: UUID) -> Place:
    place = queries.all_places_of(request.scope.premises).filter(pk=place_id).first()
    if place is None:
        raise Http404
    return place
