"""All rooms, one room, and the move of a batch into one."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from batches.ripening import actions, queries
from batches.ripening.climate import PERIOD, climates
from batches.ripening.forms import CareForm, PlaceForm
from batches.ripening.logged import logged_climates
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def room_list(request: ScopedRequest) -> HttpResponse:
    found = queries.rooms(request.scope.premises, timezone.now())
    return render(request, "ripening/rooms.html", {"rooms": found, "may_manage": request.scope.may(Right.MANAGE)})


@needs(Right.READ)
def room(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    place = get_object_or_404(queries.rooms_of(scope.premises), pk=place_id)
    (found,) = queries.rooms(scope.premises, now, [place])
    context = {
        "room": found,
        "lodgers": queries.lodgers_with_clocks(scope.premises, found, now),
        "climates": climates(scope.premises, place, now, scope.user),
        "period_days": PERIOD.days,
        "logged": logged_climates(scope.premises, place, now - PERIOD, now, scope.user),
        "care_form": CareForm(),
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "ripening/room.html", context)


@needs(Right.RECORD)
def place(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    lot = get_object_or_404(lots_of(scope.premises).batches(), pk=lot_id)
    form = PlaceForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.batch_place(
                scope=scope,
                lot_id=lot.pk,
                room_id=typed["room"].pk,
                moved_at=typed["occurred_at"],
                event_id=typed["event_id"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{lot.code} is in {typed['room'].name}: saved.")
            return redirect("making:batch", lot.pk)
    return render_form(request, "ripening/place.html", {"lot": lot}, form=form, status=status)
