"""The list of makes, and a new one."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from batches.intake.queries import milk_of
from batches.intake.standing import standings
from batches.making import actions
from batches.making.forms import MakeForm
from batches.making.queries import Part, makes_of
from batches.making.whey import whey_of
from haccp.lots.age import age_in_days
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50
PARTS = ((Part.IN_PROGRESS, "In progress"), (Part.IN_RIPENING, "In ripening"), (Part.ALL, "All"))


@needs(Right.READ)
def make_list(request: ScopedRequest) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    asked = request.GET.get("part", "")
    part = Part(asked) if asked in set(Part) else Part.ALL
    page = Paginator(makes_of(scope.premises, part), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "lines": [(make, age_in_days(scope.premises, make.lot, now)) for make in page],
        "part": part,
        "parts": PARTS,
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "making/list.html", context)


@needs(Right.RECORD)
def make_new(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    milk = list(milk_of(scope.premises, only_left=True))
    whey = whey_of(scope.premises)
    form = MakeForm(request.POST or None, scope=scope, milk=[*milk, *whey])
    status = 0
    if request.method == "POST" and form.is_valid():
        typed: dict[str, Any] = form.cleaned_data
        try:
            make = actions.make_start(
                scope=scope,
                lot_id=typed["lot_id"],
                product_id=typed["product"].pk,
                vat_id=typed["vat"].pk,
                milk_l=typed["milk_l"],
                started_at=typed["started_at"],
                note=typed["note"],
                in_spite_of=typed["in_spite_of"],
                exception=typed["exception"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("making:batch", make.lot_id)
    now = timezone.now()
    known = standings(scope.premises, [one.lot for one in milk], now)
    context: dict[str, object] = {
        "milk_fields": [
            (one, form[f"milk-{one.lot_id}"], known[one.lot_id], age_in_days(scope.premises, one.lot, now))
            for one in milk
        ],
        "whey_fields": [(one, form[f"milk-{one.lot_id}"]) for one in whey],
        "asks_exception": form.is_bound and (form.errors.get("exception") or form.data.get("exception")),
    }
    return render_form(request, "making/new.html", context, form=form, status=status)
