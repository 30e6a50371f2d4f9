"""Dispatches: the list, a new one, one with its lines."""

from collections import defaultdict
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from batches.stock import actions, queries
from batches.stock.forms import DispatchForm, ReturnForm
from batches.stock.queries import Piece
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def dispatch_list(request: ScopedRequest) -> HttpResponse:
    page = Paginator(queries.dispatches_of(request.scope.premises), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "stock/dispatches.html", {"page": page, "may_record": request.scope.may(Right.RECORD)})


@needs(Right.READ)
def dispatch(request: ScopedRequest, dispatch_id: UUID) -> HttpResponse:
    found = get_object_or_404(queries.dispatches_of(request.scope.premises), pk=dispatch_id)
    lines = queries.dispatched_lines(found)
    may_return = request.scope.may(Right.RECORD) and not all(line.came_back for line in lines)
    context = {
        "dispatch": found,
        "lines": lines,
        # What went to another premises of ours comes back by a dispatch of theirs.
        "may_return": may_return and not hasattr(found, "transfer"),
        "arrived_count": queries.arrived_count(found),
    }
    return render(request, "stock/dispatch.html", context)


@needs(Right.RECORD)
def dispatch_back(request: ScopedRequest, dispatch_id: UUID) -> HttpResponse:
    """Pieces of a dispatch that the customer sends back."""
    scope = request.scope
    found = get_object_or_404(queries.dispatches_of(scope.premises).select_related("premises"), pk=dispatch_id)
    form = ReturnForm(request.POST or None, dispatch=found)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            back = actions.items_return(
                scope=scope,
                request_id=typed["request_id"],
                dispatch_id=found.pk,
                item_ids=[item.pk for item in typed["items"]],
                returned_at=typed["returned_at"],
                note=typed["note"],
                place_id=typed["place"].pk if typed["place"] else None,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{', '.join(map(str, back))}: back in stock.")
            return redirect("stock:dispatch", found.pk)
    out = [line for line in queries.dispatched_lines(found) if not line.came_back]
    return render_form(request, "stock/dispatch_back.html", {"dispatch": found, "lines": out}, form=form, status=status)


@needs(Right.RECORD)
def dispatch_new(request: ScopedRequest) -> HttpResponse:
    """Only what may leave is offered; what is posted all the same is refused by the action."""
    scope = request.scope
    form = DispatchForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.dispatch_record(
                scope=scope,
                dispatch_id=typed["request_id"],
                customer_id=typed["customer"].pk if typed["customer"] else None,
                own_premises_id=typed["own_premises"].pk if typed["own_premises"] else None,
                item_ids=[item.pk for item in typed["items"]],
                document_type=typed["document_type"],
                document_number=typed["document_number"],
                dispatched_at=typed["dispatched_at"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"Dispatch {made.number} to {made.customer.name} is recorded.")
            return redirect("stock:dispatch", made.pk)
    here: dict[UUID, list[Piece]] = defaultdict(list)
    for item in queries.items_of(scope.premises, only_here=True):
        here[item.lot_id].append(item)
    why_not = queries.why_not_leave(here)
    may_leave: list[tuple[Lot, list[Piece]]] = [
        (items[0].lot, items) for lot_id, items in here.items() if lot_id not in why_not
    ]
    kept_back = [(items[0].lot, why_not[lot_id]) for lot_id, items in here.items() if lot_id in why_not]
    context: dict[str, object] = {"may_leave": may_leave, "kept_back": kept_back}
    return render_form(request, "stock/dispatch_new.html", context, form=form, status=status)
