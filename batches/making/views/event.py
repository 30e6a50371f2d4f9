"""Something happened in a make."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.timezone import localtime

from batches.making.course import USUAL_ORDER, next_events
from batches.making.forms import EventCorrectForm, EventForm
from batches.making.queries import events_of, makes_of
from haccp.checks.actions import event_correct, event_record
from haccp.lots.kinds import EventKind
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.RECORD)
def event(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """kind comes with the button that was pressed, or in the address of the page."""
    scope = request.scope
    make = get_object_or_404(makes_of(scope.premises), pk=lot_id)
    form = EventForm(request.POST or None, initial={"kind": request.GET.get("kind", "")})
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            saved = event_record(
                scope=scope,
                lot_id=make.lot_id,
                kind=typed["kind"],
                occurred_at=typed["occurred_at"],
                event_id=typed["event_id"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            what = str(EventKind(saved.kind).label).capitalize()
            messages.success(request, f"{what} at {localtime(saved.occurred_at):%H:%M}: saved.")
            return redirect("making:batch", make.lot_id)
    left = next_events({one.kind for one in events_of(make.lot)})
    return render_form(request, "making/event.html", {"make": make, "next_events": left}, form=form, status=status)


@needs(Right.RECORD)
def event_time(request: ScopedRequest, lot_id: UUID, event_id: UUID) -> HttpResponse:
    """Corrects the time of an event of the make that was typed by hand."""
    scope = request.scope
    make = get_object_or_404(makes_of(scope.premises), pk=lot_id)
    wrong = get_object_or_404(make.lot.events.filter(kind__in=USUAL_ORDER), pk=event_id)
    form = EventCorrectForm(request.POST or None, initial={"occurred_at": wrong.occurred_at})
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            saved = event_correct(
                scope=scope,
                event_id=typed["event_id"],
                corrects_id=wrong.pk,
                occurred_at=typed["occurred_at"],
                reason=typed["reason"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            what = str(EventKind(saved.kind).label).capitalize()
            messages.success(request, f"{what} at {localtime(saved.occurred_at):%H:%M}: corrected.")
            return redirect("making:batch", make.lot_id)
    return render_form(request, "making/event_time.html", {"make": make, "event": wrong}, form=form, status=status)
