"""Pages of the trace: find a lot, see where it came from and went, write down what came off it and where it went."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from batches.stock.queries import items_of, why_not_leave
from batches.tracing import actions
from batches.tracing.amounts import yield_of
from batches.tracing.forms import BlendForm, ByProductForm, ReworkForm, UseForm
from batches.tracing.graph import company_of, sent_of, trace_of
from batches.tracing.picture import MOST_IN_PICTURE, trace_picture
from haccp.lots.models import Lot
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def find(request: ScopedRequest) -> HttpResponse:
    """?q= part of a code."""
    asked = request.GET.get("q", "").strip()
    lots = lots_of(request.scope.premises).order_by("-begun_at", "code")
    found = lots.filter(code__icontains=asked) if asked else lots
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "tracing/find.html", {"page": page, "asked": asked})


@needs(Right.READ, to_write=Right.RECORD)
def trace(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """GET: the trace. POST: what came off the lot, or what it went into."""
    scope, lot = request.scope, _found(request, lot_id)
    off = ByProductForm(request.POST if "kind" in request.POST else None)
    use = UseForm(request.POST if "child" in request.POST else None, premises=scope.premises, parent=lot)
    form: ByProductForm | UseForm = use if "child" in request.POST else off
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            words = _record(request, lot, form)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, words)
            return redirect("tracing:trace", lot.pk)
    found = trace_of(scope.premises, lot, reader=scope.user)
    context: dict[str, object] = {
        "trace": found,
        "lot": found.lot,
        "picture": trace_picture(found, id_prefix="trace"),
        "left_out": max(0, len(found.lots) - MOST_IN_PICTURE),
        "gave": yield_of(lot) if lot.kind == Lot.Kind.BATCH else None,
        "company": company_of(lot),
        "sent": sent_of(found.lots),
        "off": off,
        "use": use,
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "tracing/trace.html", context, form=form, status=status)


def _record(request: ScopedRequest, lot: Lot, form: ByProductForm | UseForm) -> str:
    typed = form.cleaned_data
    if isinstance(form, UseForm):
        actions.use_record(
            scope=request.scope,
            parent_id=lot.pk,
            child_id=typed["child"].pk,
            amount=typed["amount"],
            unit=typed["unit"],
        )
        return f"{typed['amount']} {typed['unit']} of {lot.code} went into {typed['child'].code}: saved."
    made = actions.by_product_record(
        scope=request.scope,
        lot_id=typed["request_id"],
        from_lot_id=lot.pk,
        kind=typed["kind"],
        amount=typed["amount"],
        unit=typed["unit"],
        drawn_at=typed["drawn_at"],
    )
    return f"{made.lot.code} is a lot of its own now."


@needs(Right.RECORD)
def rework(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """Cheese that is worked into this batch."""
    scope, lot = request.scope, _found(request, lot_id)
    form = ReworkForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.rework_record(
                scope=scope,
                request_id=typed["request_id"],
                item_ids=[item.pk for item in typed["items"]],
                child_id=lot.pk,
                worked_at=typed["worked_at"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{len(typed['items'])} worked into {lot.code}.")
            return redirect("tracing:trace", lot.pk)
    here = [item for item in items_of(scope.premises, only_here=True) if item.lot_id != lot.pk]
    held = {lot_id for lot_id, why in why_not_leave({item.lot_id for item in here}).items() if why != "not released"}
    context: dict[str, object] = {"lot": lot, "items": [item for item in here if item.lot_id not in held]}
    return render_form(request, "tracing/rework.html", context, form=form, status=status)


@needs(Right.RECORD)
def blend(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    form = BlendForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.milk_blend(
                scope=scope,
                lot_id=typed["request_id"] or uuid4(),
                milk_l=form.litres(),
                blended_at=typed["blended_at"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{made.lot.code} is one lot now.")
            return redirect("intake:detail", made.pk)
    return render_form(request, "tracing/blend.html", {}, form=form, status=status)


def _found(request: ScopedRequest, lot_id: UUID) -> Lot:
    return get_object_or_404(lots_of(request.scope.premises), pk=lot_id)
