"""Suppliers: the list, a new one, one of them."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from batches.intake import actions, queries
from batches.intake.forms import SupplierForm
from batches.intake.models import Supplier
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def suppliers(request: ScopedRequest) -> HttpResponse:
    context = {
        "suppliers": queries.suppliers_of(request.scope.premises),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "intake/suppliers.html", context)


@needs(Right.RECORD)
def supplier_new(request: ScopedRequest) -> HttpResponse:
    form = SupplierForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.supplier_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:suppliers")
    return render_form(request, "intake/supplier.html", {}, form=form, status=status)


@needs(Right.RECORD)
def supplier(request: ScopedRequest, supplier_id: UUID) -> HttpResponse:
    row = get_object_or_404(Supplier, premises=request.scope.premises, pk=supplier_id)
    there = {"supplier_id": row.pk, "name": row.name, "kind": row.kind, "contact": row.contact}
    form = SupplierForm(request.POST or None, initial={**there, "approval": row.approval})
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data | {"supplier_id": row.pk}
        try:
            actions.supplier_change(scope=request.scope, **typed)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:suppliers")
    return render_form(request, "intake/supplier.html", {"supplier": row}, form=form, status=status)


@needs(Right.RECORD)
def supplier_retire(request: ScopedRequest, supplier_id: UUID) -> HttpResponseBase:
    row = get_object_or_404(Supplier, premises=request.scope.premises, pk=supplier_id)
    if request.method == "POST":
        actions.supplier_retire(scope=request.scope, supplier_id=row.pk)
        messages.success(request, _("%(name)s is no longer offered.") % {"name": row.name})
    return redirect("intake:suppliers")
