"""One piece: what happened to it, and what happens now."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from batches.stock import actions, queries
from batches.stock.forms import CutForm, ItemEventForm
from batches.stock.models import ItemEvent
from batches.stock.queries import Piece
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def item(request: ScopedRequest, item_id: UUID) -> HttpResponse:
    found = _found(request, item_id)
    form = ItemEventForm(scope=request.scope)
    return _page(request, found, event=form, form=form)


@needs(Right.RECORD)
@require_POST
def item_event(request: ScopedRequest, item_id: UUID) -> HttpResponse:
    found = _found(request, item_id)
    form = ItemEventForm(request.POST, scope=request.scope)
    status = 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            event = actions.item_event(
                scope=request.scope,
                event_id=typed["request_id"],
                item_id=found.pk,
                kind=typed["kind"],
                occurred_at=typed["occurred_at"],
                weight=typed["weight"],
                unit=typed["unit"],
                whole=typed["whole"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{found}: {event.get_kind_display()}.")
            return redirect("stock:item", found.pk)
    return _page(request, found, event=form, form=form, status=status)


@needs(Right.RECORD)
@require_POST
def item_cut(request: ScopedRequest, item_id: UUID) -> HttpResponse:
    found = _found(request, item_id)
    form = CutForm(request.POST, scope=request.scope)
    status = 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            parts = actions.item_cut(
                scope=request.scope,
                request_id=typed["request_id"],
                item_id=found.pk,
                kind=typed["kind"],
                weights=typed["weights"],
                unit=typed["unit"],
                cut_at=typed["cut_at"],
                best_before=typed["best_before"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{found} was cut up into {len(parts)}.")
            return redirect("stock:batch", found.lot_id)
    return _page(request, found, cut=form, form=form, status=status)


def _found(request: ScopedRequest, item_id: UUID) -> Piece:
    return get_object_or_404(queries.items_of(request.scope.premises), pk=item_id)


def _page(
    request: ScopedRequest,
    found: Piece,
    *,
    form: ItemEventForm | CutForm,
    event: ItemEventForm | None = None,
    cut: CutForm | None = None,
    status: int = 0,
) -> HttpResponse:
    scope = request.scope
    events = list(found.events.select_related("place", "dispatch__customer", "recorded_by"))
    context: dict[str, object] = {
        "item": found,
        "events": events,
        "came_back": any(one.kind == ItemEvent.Kind.RETURNED for one in events),
        "cuts": queries.items_of(scope.premises).filter(parent=found),
        "why_not": queries.why_not_leave([found.lot_id]).get(found.lot_id, ""),
        "event_form": event or ItemEventForm(scope=scope),
        "cut_form": cut or CutForm(scope=scope),
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "stock/item.html", context, form=form, status=status)
