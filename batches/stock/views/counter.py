"""The counter: what is open there, and each day's total."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from batches.stock import actions, queries
from batches.stock.forms import CounterTotalForm
from batches.stock.models import CounterSale
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

LATEST = 30


@needs(Right.READ, to_write=Right.RECORD)
def counter(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    form = CounterTotalForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.counter_total(
                scope=scope,
                sale_id=typed["request_id"],
                lot_id=typed["lot"].pk,
                day=typed["day"],
                weight=typed["weight"],
                unit=typed["unit"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The day’s total is saved.")
            return redirect("stock:counter")
    context: dict[str, object] = {
        "open_there": queries.at_counter(scope.premises),
        "sales": CounterSale.objects.filter(lot__premises=scope.premises).select_related("lot__product")[:LATEST],
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "stock/counter.html", context, form=form, status=status)
