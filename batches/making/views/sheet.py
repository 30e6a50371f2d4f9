"""The make sheet: what is done now, the stages as they stand, and one stage with all that can be noted of it."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.making import actions
from batches.making.forms import StageForm, YieldForm, as_it_was
from batches.making.models import StageMark
from batches.making.queries import makes_of
from batches.making.sheet import StageState, sheet_of
from batches.making.yields import milk_composition, yield_found
from haccp.checks.lot_checks import checks_of_lot
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.science.evaluators.elapsed import SLOW
from haccp.science.ruling import Ruling


@needs(Right.READ)
def sheet(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    make = get_object_or_404(makes_of(scope.premises).select_related("procedure", "lot__premises"), pk=lot_id)
    found = sheet_of(make, now)
    may_record = scope.may(Right.RECORD)
    current = found.current
    context = {
        "make": make,
        "sheet": found,
        "checks": [one for one in checks_of_lot(make.lot_id, now) if one.can_be_done],
        "form": StageForm(state=current, make=make, scope=scope) if current is not None and may_record else None,
        "state": current,
        "served": actions.checks_served(now, current.stage.kind, make.pk) if current is not None else [],
        "yielded": yield_found(make),
        "may_record": may_record,
    }
    return render(request, "making/sheet.html", context)


@needs(Right.RECORD)
def stage(request: ScopedRequest, lot_id: UUID, stage_id: UUID) -> HttpResponse:
    """?corrects= names the mark that was wrong."""
    scope, now = request.scope, timezone.now()
    make = get_object_or_404(makes_of(scope.premises).select_related("procedure", "lot__premises"), pk=lot_id)
    found = sheet_of(make, now)
    state = found.of(stage_id)
    if state is None:
        raise Http404
    corrected = _corrected(request, state)
    initial = {} if corrected is None else as_it_was(corrected)
    form = StageForm(request.POST or None, state=state, make=make, scope=scope, initial=initial)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            mark = actions.stage_record(
                scope=scope,
                mark_id=typed["mark_id"],
                make_id=make.pk,
                stage_id=state.stage.pk,
                what=typed["what"],
                at=form.moment(),
                readings=form.readings(),
                uses=form.uses(),
                brine_id=form.brine_id(),
                note=typed["note"],
                exception=typed["exception"],
                corrects_id=typed["corrects_id"],
                reason=typed["reason"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            _say(request, mark)
            return redirect("making:sheet", make.pk)
    context: dict[str, object] = {"make": make, "sheet": found, "state": state, "corrected": corrected}
    context["served"] = actions.checks_served(now, state.stage.kind, make.pk)
    context["asks_exception"] = form.is_bound and (form.errors.get("exception") or form.data.get("exception"))
    return render_form(request, "making/stage.html", context, form=form, status=status)


def _corrected(request: ScopedRequest, state: StageState) -> StageMark | None:
    asked = request.POST.get("corrects_id") or request.GET.get("corrects", "")
    return next((mark for mark in state.marks if str(mark.pk) == asked), None)


def _say(request: ScopedRequest, mark: StageMark) -> None:
    """Saved, and what the stage's limits say of what was read."""
    local = timezone.localtime(mark.at)
    said = _("%(stage)s: %(what)s at %(time)s.") % {
        "stage": mark.stage.name.capitalize(),
        "what": mark.get_what_display(),
        "time": f"{local:%H:%M:%S}" if local.second else f"{local:%H:%M}",
    }
    messages.success(request, said)
    for reading in mark.readings.all():
        if reading.ruling in ("breached", "unproven"):
            messages.warning(request, reading.said)
    for record in actions.records_of(mark):
        words = f"{record.check_done.name}: {' '.join(row.reason for row in record.rulings.all()) or _('saved')}"
        is_bad = any(Ruling(row.ruling).opens_deviation or row.code == SLOW for row in record.rulings.all())
        (messages.warning if is_bad else messages.success)(request, words)


@needs(Right.RECORD)
def weigh(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    make = get_object_or_404(makes_of(scope.premises), pk=lot_id)
    form = YieldForm(request.POST or None, scope=scope, milk=milk_composition(make))
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.yield_record(scope=scope, make_id=make.pk, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("making:sheet", make.pk)
    return render_form(request, "making/weigh.html", {"make": make}, form=form, status=status)
