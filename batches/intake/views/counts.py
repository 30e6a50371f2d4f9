"""The periodic results of raw milk and their rolling means."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.intake import actions
from batches.intake.forms import CountForm
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
    scope = request.scope
    form = CountForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.count_record(
                scope=scope,
                count_id=typed["count_id"],
                supplier_id=typed["supplier"].pk,
                species=typed["species"],
                quantity=typed["quantity"],
                sampled_on=typed["sampled_on"],
                text=typed["text"],
                unit=typed["unit"],
                laboratory=typed["laboratory"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:counts")
    return render_form(request, "intake/count_new.html", {}, form=form, status=status)
