"""What is clean, cleaning it, and using it."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from batches.hygiene import actions, queries
from batches.hygiene.cleanliness import cleanliness_of
from batches.hygiene.environment import points_now
from batches.hygiene.forms import CleaningForm, UseForm
from haccp.checks.forms.photos import take_in
from haccp.checks.queries import CheckToDo, due_to_do, extra_to_do
from haccp.checks.views.record import answer, first_values, instruments_for, todo_context
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.local_time import keep_current
from haccp.premises.models import Place
from haccp.premises.queries import places_of
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

LISTED = 20


@needs(Right.READ)
def overview(request: ScopedRequest) -> HttpResponse:
    """Which places and equipment are clean, and which are not and why."""
    premises, now = request.scope.premises, timezone.now()
    points = points_now(premises, now)
    context = {
        "places": cleanliness_of(premises, now),
        "cleanings": queries.cleanings_of(premises, LISTED),
        "swabs_due": sum(1 for one in points if one.due_on is not None),
        "swabs_open": [one for one in points if one.standing.is_open],
        "can_record": request.scope.may(Right.RECORD),
        "may_manage": request.scope.may(Right.MANAGE),
    }
    return render(request, "hygiene/overview.html", context)


@needs(Right.RECORD)
def clean(request: ScopedRequest, method_id: UUID) -> HttpResponse:
    """Does a cleaning: ?due= names the due check that it answers."""
    method = queries.method_of(request.scope.premises, method_id)
    if method is None:
        raise Http404
    todo = _todo(request, method_id)
    if todo is None:
        messages.error(request, "The plan in force has no check for this method any more. Change the method.")
        return redirect("hygiene:overview")
    instruments = instruments_for(request, todo)
    data, unread = take_in(request, request.scope, todo) if request.method == "POST" else (None, None)
    form = CleaningForm(
        data,
        todo=todo,
        instruments=instruments,
        user=request.scope.user,
        method=method,
        lots=queries.lots_of_method(method),
        last=queries.last_lots(method),
        initial=first_values(todo, instruments, timezone.now()),
    )
    keep_current(form, "observed_at")
    status = 0
    if unread is not None:
        form.is_valid()
        status = refuse(form, unread)
    elif request.method == "POST" and form.is_valid():
        try:
            saved = actions.cleaning_record(
                scope=request.scope,
                record_id=form.cleaned_data["record_id"],
                method_id=method.id,
                check_id=todo.check.id,
                due_id=todo.due.id if todo.due else None,
                entries=form.entries(),
                observed_at=form.cleaned_data["observed_at"],
                lot_ids=form.lot_ids(),
                instrument_id=form.cleaned_data.get("instrument"),
                note=form.cleaned_data["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return answer(saved.record)
    context = {**todo_context(request, todo), "method": method}
    return render_form(request, "hygiene/clean.html", context, form=form, status=status)


def _todo(request: ScopedRequest, method_id: UUID) -> CheckToDo | None:
    premises = request.scope.premises
    method = queries.method_of(premises, method_id)
    assert method is not None
    asked = request.GET.get("due", "")
    if asked:
        try:
            found = due_to_do(premises, UUID(asked))
        except ValueError:
            raise Http404 from None
        if found is None or found.check.pk not in queries.check_ids(method.check_key):
            raise Http404
        return found
    check = queries.check_in_force(premises, method, timezone.now())
    return extra_to_do(premises, check.pk, None) if check else None


@needs(Right.RECORD)
def use(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """Equipment used for a batch."""
    lot = Lot.objects.for_premises(request.scope.premises).filter(id=lot_id).first()
    if lot is None:
        raise Http404
    equipment = [one for one in places_of(request.scope.premises) if one.kind in (Place.Kind.EQUIPMENT, Place.Kind.VAT)]
    now = timezone.now()
    form = UseForm(request.POST or None, places=equipment, initial={"used_at": now.replace(second=0, microsecond=0)})
    keep_current(form, "used_at")
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            used = actions.equipment_use(
                scope=request.scope,
                lot_id=lot.id,
                place_ids=typed["places"],
                used_at=typed["used_at"],
                use_id=typed["use_id"],
                in_spite_of=typed["in_spite_of"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"Recorded for {lot.code}: {', '.join(str(one.place) for one in used)}.")
            return redirect("making:batch", lot.id)
    states = [one for one in cleanliness_of(request.scope.premises, now) if one.place in equipment]
    context: dict[str, object] = {"lot": lot, "states": states}
    return render_form(request, "hygiene/use.html", context, form=form, status=status)
