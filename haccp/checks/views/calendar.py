"""The dairy's calendar: when no milk comes in or no cheese is made, and what rests then."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks import actions
from haccp.checks.closed import RESTS_IN, effective_last, periods_listed
from haccp.checks.models import ClosedPeriod
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


def _day_field(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("That is no day of the calendar; give one such as 2026-01-31.")},
    )


class ClosedForm(forms.Form):
    period_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    without = forms.ChoiceField(
        label=_("What the dairy is without"), choices=ClosedPeriod.Without.choices, widget=forms.RadioSelect
    )
    first = _day_field(_("First day"))
    last = _day_field(_("Last day"))
    reason = forms.CharField(label=_("Why"), max_length=400, help_text=_("Such as “the ewes are dry”."))


class ReopenForm(forms.Form):
    on = _day_field(_("Open again on"))


@needs(Right.READ)
def calendar(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    today = premises.local_date(timezone.now())
    plan = revision_in_force(premises, timezone.now())
    checks = list(plan.checks.select_related("control_point").order_by("control_point__code", "name")) if plan else []
    context = {
        "periods": [
            {"period": one, "last": effective_last(one), "is_over": effective_last(one) < today}
            for one in periods_listed(premises)
        ],
        "resting": [check for check in checks if RESTS_IN[check.rests]],
        "always": [check for check in checks if not RESTS_IN[check.rests]],
        "may_manage": request.scope.may(Right.MANAGE),
        "today": today,
    }
    return render(request, "checks/calendar.html", context)


@needs(Right.MANAGE)
def closed_add(request: ScopedRequest) -> HttpResponse:
    form = ClosedForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.closed_period_add(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "It stands in the calendar. Checks that rest then do not fall due.")
            return redirect("checks:calendar")
    return render_form(request, "checks/closed_add.html", {}, form=form, status=status)


@needs(Right.MANAGE)
def reopen(request: ScopedRequest, period_id: UUID) -> HttpResponse:
    period = ClosedPeriod.objects.filter(premises=request.scope.premises, id=period_id).first()
    if period is None:
        raise Http404
    form = ReopenForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.reopening_add(scope=request.scope, period_id=period.id, on=form.cleaned_data["on"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Checks are due again from that day on.")
            return redirect("checks:calendar")
    return render_form(request, "checks/reopen.html", {"period": period}, form=form, status=status)
