"""One deviation, from what happened to the closing signature."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.safestring import SafeString
from django.views.decorators.http import require_POST

from haccp.checks.pictures import heat_picture
from haccp.deviations import actions
from haccp.deviations.forms import CloseForm, DecideForm, DispositionForm, EvidenceForm, StepForm, TaskForm, WidenForm
from haccp.deviations.models import CorrectiveStep, Deviation
from haccp.deviations.queries import (
    deviation_in_full,
    ends_to_record,
    guide,
    holds_placed_by,
    lifted_words,
    undecided,
    ways,
)
from haccp.deviations.reach import may_be_touched
from haccp.deviations.walk import stage_key, walk
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

Kind = CorrectiveStep.Kind
MANY = 6  # lots whose decisions are folded, so that the page can be overlooked


@needs(Right.READ)
def detail(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    return deviation_page(request, found_deviation(request, deviation_id))


@needs(Right.RECORD)
@require_POST
def step(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    """Adds one step; a refused one comes back on the page with what was typed."""
    deviation = found_deviation(request, deviation_id)
    form, key = _step_form(request)
    if not form.is_valid():
        return deviation_page(request, deviation, refused=form, key=key, status=422)
    typed = form.cleaned_data
    try:
        actions.step_add(
            scope=request.scope,
            step_id=typed["step_id"],
            deviation_id=deviation.pk,
            kind=typed["kind"],
            text=typed["text"],
            lot_id=typed.get("lot"),
            disposition=typed.get("disposition", ""),
        )
    except ActionError as error:
        status = refuse(form, error)
        return deviation_page(request, deviation, refused=form, key=key, status=status)
    messages.success(request, f"{Kind(typed['kind']).label.capitalize()}: saved.")
    return redirect(f"{request.path.removesuffix('step/')}#{key}")


@needs(Right.CLOSE_DEVIATION)
@require_POST
def close(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    """Signs; the answer names the holds that were lifted and those that stay."""
    deviation = found_deviation(request, deviation_id)
    form = CloseForm(request.POST)
    if not form.is_valid():
        return deviation_page(request, deviation, closing=form, status=422)
    typed = form.cleaned_data
    try:
        actions.deviation_close(
            scope=request.scope,
            deviation_id=deviation.pk,
            password=typed["password"],
            seen_sha256=typed["seen_sha256"],
        )
    except ActionError as error:
        status = refuse(form, error)
        return deviation_page(request, found_deviation(request, deviation_id), closing=form, status=status)
    messages.success(request, f"{deviation.reference} is closed. {lifted_words(holds_placed_by(deviation))}")
    return redirect("deviations:detail", deviation.pk)


def found_deviation(request: ScopedRequest, deviation_id: UUID) -> Deviation:
    deviation = deviation_in_full(request.scope.premises, deviation_id)
    if deviation is None:
        raise Http404
    return deviation


def _picture(request: ScopedRequest, deviation: Deviation) -> SafeString | None:
    """The recording that the ruling speaks of, where there is one."""
    ruling = deviation.ruling
    if ruling is None or ruling.record.trace is None or ruling.limit.evaluator != "holding":
        return None
    return heat_picture(
        ruling.record.trace,
        roles=ruling.record.trace_roles,
        limit=ruling.limit,
        reason=ruling.reason,
        facts=ruling.facts,
        temperature_unit=request.scope.user.preferred_unit("temperature"),
    )


def _step_form(request: ScopedRequest) -> tuple[StepForm, str]:
    kind = request.POST.get("kind", "")
    if kind not in Kind.values:
        raise Http404
    if kind != Kind.DISPOSITION:
        return StepForm(request.POST, kind=kind, auto_id=f"{kind}_%s"), kind
    try:
        lot_id = UUID(request.POST.get("lot", ""))
    except ValueError:
        raise Http404 from None
    key = stage_key(kind, lot_id)
    return DispositionForm(request.POST, lot_id=lot_id, auto_id=f"{key}_%s"), key


def deviation_page(
    request: ScopedRequest,
    deviation: Deviation,
    *,
    refused: forms.Form | None = None,
    key: str = "",
    closing: CloseForm | None = None,
    widening: WidenForm | None = None,
    task: TaskForm | None = None,
    attaching: EvidenceForm | None = None,
    deciding: DecideForm | None = None,
    status: int = 0,
) -> HttpResponse:
    """closing keeps its errors; what it signs is always what this page shows."""
    scope, led = request.scope, guide(deviation)
    is_closed = hasattr(deviation, "closure")
    closing = closing or CloseForm(initial={"seen_sha256": led.content_sha256})
    holds = holds_placed_by(deviation)
    context: dict[str, object] = {
        "deviation": deviation,
        "led": led,
        "walk": walk(led, editable=scope.may(Right.RECORD) and not is_closed, refused=refused, refused_key=key),
        "holds": holds,
        "held_lots": {hold.lot_id for hold in holds if not hasattr(hold, "lift")},
        "is_closed": is_closed,
        "picture": _picture(request, deviation),
        "closing": closing,
        "may_close": scope.may(Right.CLOSE_DEVIATION),
        "may_record": scope.may(Right.RECORD),
        "widen_form": widening or WidenForm(premises=scope.premises),
        "suggested": () if is_closed else may_be_touched(scope.premises, deviation, timezone.now()),
        "tasks": deviation.tasks.select_related("owner", "done__done_by"),
        "task_form": task or TaskForm(premises=scope.premises),
        "evidence": deviation.evidence.defer("deflated").select_related("attached_by"),
        "evidence_form": attaching or EvidenceForm(),
        "ends": deviation.ends.select_related("lot", "recorded_by"),
        "ways": ways(led.implicated),
        "many": len(led.implicated) > MANY,
        "decide_form": deciding or DecideForm(groups=undecided(led)),
        "to_end": ends_to_record(deviation) if is_closed else (),
        "statement": actions.CLOSING_STATEMENT,
    }
    form = refused or widening or task or attaching or deciding or closing
    return render_form(request, "deviations/detail.html", context, form=form, status=status)
