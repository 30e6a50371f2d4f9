"""What another premises of the producer sent here: accepted with what came of it; and what came before."""

from collections import defaultdict
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from batches.stock import actions, queries
from batches.stock.forms import ArrivalForm
from batches.stock.models import ItemEvent
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def arrival_list(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    context = {
        "arriving": queries.arriving_at(premises),
        "page": Paginator(queries.arrivals_of(premises), PER_PAGE).get_page(request.GET.get("page")),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "stock/arrivals.html", context)


@needs(Right.READ, to_write=Right.RECORD)
def arriving(request: ScopedRequest, arriving_id: UUID) -> HttpResponse:
    """GET: what was sent. POST: what of it arrived."""
    scope = request.scope
    found = get_object_or_404(queries.arriving_at(scope.premises), pk=arriving_id)
    form = ArrivalForm(request.POST or None, premises=scope.premises, dispatch=found)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.arrival_accept(
                scope=scope,
                arrival_id=typed["request_id"],
                dispatch_id=found.pk,
                item_ids=[item.pk for item in typed["items"]],
                arrived_at=typed["arrived_at"],
                place_id=typed["place"].pk if typed["place"] else None,
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            came = list(made.lots.all())
            pieces, sent = sum(one.pieces for one in came), sum(one.sent_pieces for one in came)
            missing = f" {sent - pieces} did not arrive and are told as unexplained." if pieces < sent else ""
            messages.success(request, f"{pieces} of {sent} pieces are in stock here now.{missing}")
            return redirect("stock:list")
    by_lot: dict[Lot, list[ItemEvent]] = defaultdict(list)
    for event in queries.dispatched_lines(found):
        by_lot[event.item.lot].append(event)
    context: dict[str, object] = {
        "dispatch": found,
        "lots": list(by_lot.items()),
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "stock/arriving.html", context, form=form, status=status)
