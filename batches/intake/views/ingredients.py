"""Ingredients: what there is, what came in, one lot, a count of its stock."""

from uuid import UUID, uuid5

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.intake import actions, queries
from batches.intake import stock as stocks
from batches.intake.forms import DecisionForm, IngredientForm, StockForm
from batches.intake.models import Acceptance, IngredientLot
from batches.intake.standing import standing_of, standings
from haccp.lots.models import LotLink
from haccp.lots.queries import holds_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def ingredients(request: ScopedRequest) -> HttpResponse:
    """Those that there is still some of; ?all=1 for every one."""
    scope, now = request.scope, timezone.now()
    rows = stocks.ingredients_of(scope.premises)
    shows_all = bool(request.GET.get("all"))
    if not shows_all:
        rows = rows.filter(left_si__gt=stocks.ROUNDING["mass"])
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    known = standings(scope.premises, [row.lot for row in page], now)
    context = {
        "page": page,
        "lines": [(row, stocks.show_amount(row.quantity, row.left_si), known[row.pk]) for row in page],
        "shows_all": shows_all,
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "intake/ingredients.html", context)


@needs(Right.RECORD)
def ingredient_new(request: ScopedRequest) -> HttpResponse:
    form = IngredientForm(request.POST or None, scope=request.scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            row = _receive(request, form)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("%(code)s: saved.") % {"code": row.lot.code})
            return redirect("intake:ingredient", row.pk)
    return render_form(request, "intake/ingredient_new.html", {}, form=form, status=status)


@transaction.atomic
def _receive(request: ScopedRequest, form: IngredientForm) -> IngredientLot:
    typed = dict(form.cleaned_data)
    supplier, accept = typed.pop("supplier"), typed.pop("accept")
    row = actions.ingredient_receive(scope=request.scope, supplier_id=supplier.pk if supplier else None, **typed)
    if accept:
        actions.acceptance_decide(
            scope=request.scope,
            acceptance_id=uuid5(row.pk, "accepted on arrival"),
            lot_id=row.pk,
            decision=Acceptance.Decision.ACCEPTED,
        )
    return row


@needs(Right.READ)
def ingredient(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    row = get_object_or_404(stocks.ingredients_of(scope.premises), pk=lot_id)
    links = LotLink.objects.filter(parent=row.pk).select_related("child", "child__product").order_by("recorded_at")
    context = {
        "row": row,
        "left": stocks.show_amount(row.quantity, row.left_si),
        "came_in": stocks.show_amount(row.quantity, row.amount_si),
        "standing": standing_of(row.lot, timezone.now()),
        "decisions": queries.decisions_of(row.lot),
        "decision_form": DecisionForm(),
        "uses": [(link.child, stocks.show_amount(row.quantity, link.amount)) for link in links],
        "changes": [
            (change, stocks.show_amount(row.quantity, change.change_si))
            for change in row.lot.stock_changes.select_related("changed_by")
        ],
        "holds": holds_of(row.lot),
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "intake/ingredient.html", context)


@needs(Right.RECORD)
def stock(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    row = get_object_or_404(stocks.ingredients_of(scope.premises), pk=lot_id)
    form = StockForm(request.POST or None, row=row)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.stock_change(scope=scope, lot_id=row.pk, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:ingredient", row.pk)
    context: dict[str, object] = {"row": row, "left": stocks.show_amount(row.quantity, row.left_si)}
    return render_form(request, "intake/stock.html", context, form=form, status=status)
