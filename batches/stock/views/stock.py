"""Stock: all batches that lie there, and one batch's pieces."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from batches.stock import actions, queries
from batches.stock.forms import ItemsForm, PickForm
from haccp.lots.models import Lot
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def stock_list(request: ScopedRequest) -> HttpResponse:
    found = queries.stock_by_lot(request.scope.premises)
    context = {
        "lots": found,
        "arriving": queries.arriving_at(request.scope.premises),
        "total_kg": sum(one.weight_kg for one in found),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "stock/list.html", context)


@needs(Right.READ, to_write=Right.RECORD)
def batch_stock(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """GET: the pieces. POST: some of them are moved or opened at the counter."""
    scope, lot = request.scope, _found(request, lot_id)
    form = PickForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            words = _picked(request, form)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, words)
            return redirect("stock:batch", lot.pk)
    return _page(request, lot, pick=form, form=form, status=status)


@needs(Right.RECORD)
@require_POST
def items_add(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope, lot = request.scope, _found(request, lot_id)
    form = ItemsForm(request.POST, scope=scope)
    status = 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.items_add(
                scope=scope,
                request_id=typed["request_id"],
                lot_id=lot.pk,
                kind=typed["kind"],
                weights=typed["weights"],
                unit=typed["unit"],
                entered_at=typed["entered_at"],
                place_id=typed["place"].pk if typed["place"] else None,
                best_before=typed["best_before"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{len(made)} came into stock.")
            return redirect("stock:batch", lot.pk)
    return _page(request, lot, add=form, form=form, status=status)


def _picked(request: ScopedRequest, form: PickForm) -> str:
    typed = form.cleaned_data
    ids = [item.pk for item in typed["items"]]
    if typed["what"] == "counter":
        actions.counter_open(scope=request.scope, request_id=typed["request_id"], item_ids=ids, opened_at=typed["at"])
        return f"{len(ids)} opened at the counter."
    if typed["place"] is None:
        raise ActionError("Choose the room they are moved to.", field="place")
    actions.items_move(
        scope=request.scope,
        request_id=typed["request_id"],
        item_ids=ids,
        place_id=typed["place"].pk,
        moved_at=typed["at"],
    )
    return f"{len(ids)} moved to {typed['place'].name}."


def _found(request: ScopedRequest, lot_id: UUID) -> Lot:
    return get_object_or_404(lots_of(request.scope.premises).cheese().select_related("arrived"), pk=lot_id)


def _page(
    request: ScopedRequest,
    lot: Lot,
    *,
    form: PickForm | ItemsForm,
    pick: PickForm | None = None,
    add: ItemsForm | None = None,
    status: int = 0,
) -> HttpResponse:
    scope = request.scope
    items = list(queries.items_of(scope.premises).filter(lot=lot))
    context: dict[str, object] = {
        "lot": lot,
        "here": [item for item in items if item.is_here],
        "gone": [item for item in items if not item.is_here],
        "why_not": queries.why_not_leave([lot.pk]).get(lot.pk, ""),
        "pick": pick or PickForm(premises=scope.premises),
        # Of what came from another premises nothing is taken in but by its arrival.
        "add": (add or ItemsForm(scope=scope)) if lot.kind == Lot.Kind.BATCH else None,
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "stock/batch.html", context, form=form, status=status)
