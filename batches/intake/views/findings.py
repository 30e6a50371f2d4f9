"""Of one lot: what was found of it, how it was cooled, and the decision to accept or refuse it."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.intake import actions, queries
from batches.intake.forms import CoolingForm, DecisionForm, FindingForm
from batches.intake.standing import standing_of
from haccp.checks.actions import trace_store_file
from haccp.checks.forms.recorder import UploadForm
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.uploads import OVERSIZED_KEY, read_upload


def _page_of(lot: Lot) -> HttpResponseBase:
    return redirect("intake:detail" if lot.kind == Lot.Kind.MILK else "intake:ingredient", lot.pk)


@needs(Right.RECORD)
def decide(request: ScopedRequest, lot_id: UUID) -> HttpResponseBase:
    scope = request.scope
    lots = Lot.objects.for_premises(scope.premises).filter(kind__in=(Lot.Kind.MILK, Lot.Kind.INGREDIENT))
    lot = get_object_or_404(lots.select_related("premises"), pk=lot_id)
    form = DecisionForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            done = actions.acceptance_decide(
                scope=scope,
                acceptance_id=typed["acceptance_id"],
                lot_id=lot.pk,
                decision=typed["decision"],
                reason=typed["reason"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("%(code)s: %(what)s.") % {"code": lot.code, "what": done})
            return _page_of(lot)
    context: dict[str, object] = {"lot": lot, "standing": standing_of(lot, timezone.now())}
    return render_form(request, "intake/decide.html", context, form=form, status=status)


@needs(Right.RECORD)
def finding(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    milk = get_object_or_404(queries.milk_of(scope.premises), pk=lot_id)
    form = FindingForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        instrument = typed["instrument"]
        try:
            actions.findings_record(
                scope=scope,
                lot_id=milk.pk,
                findings=form.typed(
                    typed["base_id"],
                    typed["observed_at"],
                    instrument_id=instrument.pk if instrument else None,
                    note=typed["note"],
                ),
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:detail", milk.pk)
    return render_form(request, "intake/finding.html", {"milk": milk}, form=form, status=status)


@needs(Right.RECORD)
def cooling(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """Several temperatures typed at once."""
    scope = request.scope
    milk = get_object_or_404(queries.milk_of(scope.premises), pk=lot_id)
    form = CoolingForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.findings_record(scope=scope, lot_id=milk.pk, findings=form.typed())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("intake:detail", milk.pk)
    context: dict[str, object] = {"milk": milk, "upload": UploadForm()}
    return render_form(request, "intake/cooling.html", context, form=form, status=status)


@needs(Right.RECORD)
def cooling_file(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """The file of the recorder in the tank."""
    scope = request.scope
    milk = get_object_or_404(queries.milk_of(scope.premises), pk=lot_id)
    form = UploadForm(request.POST or None, request.FILES or None)
    status = 0
    if request.method == "POST" and (form.is_valid() or OVERSIZED_KEY in request.META):
        try:
            data, name = read_upload(request, form.cleaned_data.get("file"))
            trace_store_file(
                scope=scope, trace_id=form.cleaned_data["trace_id"], data=data, filename=name, lot_id=milk.pk
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("The file was read; the curve shows it."))
            return redirect("intake:detail", milk.pk)
    return render_form(request, "intake/cooling_file.html", {"milk": milk}, form=form, status=status)
