"""Pages about milk: what there is, a new arrival, one lot."""

from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from batches.intake import actions, queries
from batches.intake.cooling import cooling_of
from batches.intake.forms import DecisionForm, MilkForm
from batches.intake.rolling import rolling_means
from batches.intake.standing import standing_of, standings
from haccp.checks.lot_checks import checks_of_lot
from haccp.checks.queries import records_of_lot
from haccp.lots.queries import holds_of
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50


@needs(Right.READ)
def milk_list(request: ScopedRequest) -> HttpResponse:
    milk = queries.milk_of(request.scope.premises)
    page = Paginator(milk, PER_PAGE).get_page(request.GET.get("page"))
    known = standings(request.scope.premises, [one.lot for one in page], timezone.now())
    lines = [(one, known[one.pk]) for one in page]
    context = {"page": page, "lines": lines, "may_record": request.scope.may(Right.RECORD)}
    return render(request, "intake/list.html", context)


@needs(Right.RECORD)
def milk_new(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    last = queries.milk_of(scope.premises).values_list("species", flat=True).first()
    asked = queries.asked_by_checks(revision_in_force(scope.premises, timezone.now()))
    form = MilkForm(request.POST or None, scope=scope, last_species=last or "", asked=asked)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            milk = actions.milk_receive(
                scope=scope,
                lot_id=typed["lot_id"],
                species=typed["species"],
                source=typed["source"],
                volume=typed["volume"],
                volume_unit=typed["volume_unit"],
                received_at=typed["received_at"],
                place_id=typed["place"].pk if typed["place"] else None,
                milked_from=typed["milked_from"],
                milked_until=typed["milked_until"],
                findings=form.typed(typed["lot_id"], typed["received_at"]),
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("intake:detail", milk.lot_id)
    context: dict[str, object] = {"sources": queries.sources_of(scope.premises), "asked": asked}
    return render_form(request, "intake/new.html", context, form=form, status=status)


@needs(Right.READ)
def milk_detail(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    now = timezone.now()
    milk = get_object_or_404(queries.milk_of(scope.premises).select_related("supplier"), pk=lot_id)
    findings = queries.findings_of(milk)
    means = rolling_means(scope.premises, scope.premises.local_date(now), supplier=milk.supplier)
    context = {
        "standing": standing_of(milk.lot, now),
        "decisions": queries.decisions_of(milk.lot),
        "decision_form": DecisionForm(),
        "findings": findings,
        "cooling": cooling_of(scope.premises, milk, findings, now, scope.user.preferred_unit("temperature")),
        "means": [one for one in means if one.species == milk.species] if milk.supplier else [],
        "milk": milk,
        "checks": checks_of_lot(milk.lot_id, now),
        "records": records_of_lot(milk.lot_id),
        "uses": queries.uses_of(milk),
        "holds": holds_of(milk.lot),
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "intake/detail.html", context)
