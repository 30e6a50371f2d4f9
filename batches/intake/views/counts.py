"""The periodic results of raw milk and their rolling means."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.intake import actions
from batches.intake.forms import CountForm
from batches.intake.models import MilkCount
from batches.intake.queries import suppliers_of
from batches.intake.rolling import rolling_means
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def counts(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    context = {
        "means": rolling_means(premises, premises.local_date(timezone.now())),
        "has_suppliers": suppliers_of(premises, of_milk=True).exists(),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "intake/counts.html", context)


@needs(Right.RECORD)
def count_new(request: ScopedRequest) -> HttpResponse:
    return _count(request, CountForm(request.POST or None, scope=request.scope), None)


@needs(Right.RECORD)
def count_correct(request: ScopedRequest, count_id: UUID) -> HttpResponse:
    """A result that was entered wrongly: it stays on file and counts no more."""
    wrong = get_object_or_404(
        MilkCount.objects.filter(premises=request.scope.premises, corrected_by__isnull=True), pk=count_id
    )
    return _count(request, CountForm(request.POST or None, scope=request.scope, corrects=wrong), wrong)


def _count(request: ScopedRequest, form: CountForm, wrong: MilkCount | None) -> HttpResponse:
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.count_record(
                scope=request.scope,
                count_id=typed["count_id"],
                supplier_id=typed["supplier"].pk,
                species=typed["species"],
                quantity=typed["quantity"],
                sampled_on=typed["sampled_on"],
                text=typed["text"],
                unit=typed["unit"],
                laboratory=typed["laboratory"],
                corrects_id=wrong.pk if wrong else None,
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:counts")
    return render_form(request, "intake/count_new.html", {"wrong": wrong}, form=form, status=status)
