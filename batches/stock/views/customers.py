"""Customers: the list, a new one, one with what was sent to them."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from batches.stock import actions, queries
from batches.stock.actions.customers import FIELDS
from batches.stock.forms import CustomerForm
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def customer_list(request: ScopedRequest) -> HttpResponse:
    context = {
        "customers": queries.customers_of(request.scope.premises),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "stock/customers.html", context)


@needs(Right.RECORD)
def customer_new(request: ScopedRequest) -> HttpResponse:
    form = CustomerForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        try:
            actions.customer_add(scope=request.scope, customer_id=typed.pop("request_id"), **typed)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{typed['name']}: saved.")
            return redirect("stock:customers")
    return render_form(request, "stock/customer.html", {"customer": None}, form=form, status=status)


@needs(Right.READ, to_write=Right.RECORD)
def customer(request: ScopedRequest, customer_id: UUID) -> HttpResponse:
    """GET: the details and what was sent. POST: the details change, or the customer is retired."""
    scope = request.scope
    found = get_object_or_404(queries.customers_of(scope.premises), pk=customer_id)
    initial = {key: getattr(found, key) for key in FIELDS}
    form = CustomerForm(request.POST or None, initial={**initial, "request_id": found.pk})
    status = 0
    if request.method == "POST":
        if "retire" in request.POST:
            actions.customer_retire(scope=scope, customer_id=found.pk)
            messages.success(request, f"{found.name} is no longer offered.")
            return redirect("stock:customers")
        if form.is_valid():
            typed = {key: value for key, value in form.cleaned_data.items() if key in FIELDS}
            try:
                actions.customer_change(scope=scope, customer_id=found.pk, **typed)
            except ActionError as error:
                status = refuse(form, error)
            else:
                messages.success(request, f"{typed['name']}: saved.")
                return redirect("stock:customers")
    context: dict[str, object] = {
        "customer": found,
        "dispatches": queries.dispatches_of(scope.premises).filter(customer=found)[:50],
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "stock/customer.html", context, form=form, status=status)
