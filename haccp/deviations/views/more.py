"""What is added to a deviation beside its steps: further lots, tasks, evidence, the end of a lot."""

import zlib
from uuid import UUID, uuid5

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.deviations import actions
from haccp.deviations.answers import evidence_sent, kept_file
from haccp.deviations.forms import DecideForm, EvidenceForm, TaskForm, WidenForm
from haccp.deviations.models import Evidence, Task
from haccp.deviations.queries import guide, undecided
from haccp.deviations.views.detail import deviation_page, found_deviation
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.refusals import refuse
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.RECORD)
@require_POST
def widen(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    deviation = found_deviation(request, deviation_id)
    form = WidenForm(request.POST, premises=request.scope.premises)
    status = 422
    if form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.deviation_widen(
                scope=request.scope,
                widening_id=typed["request_id"],
                deviation_id=deviation.pk,
                lot_ids=list({lot.pk for lot in (*typed["lots"], *typed["codes"])}),
                reason=typed["reason"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{made.lots.count()} more lots are implicated.")
            return redirect("deviations:detail", deviation.pk)
    return deviation_page(request, deviation, widening=form, status=status)


@needs(Right.RECORD)
@require_POST
def decide(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    """One decision for several lots."""
    deviation = found_deviation(request, deviation_id)
    form = DecideForm(request.POST, groups=undecided(guide(deviation)))
    status = 422
    if form.is_valid():
        typed = form.cleaned_data
        try:
            steps = actions.disposition_add_many(
                scope=request.scope,
                request_id=typed["request_id"],
                deviation_id=deviation.pk,
                lot_ids=form.lot_ids,
                disposition=typed["disposition"],
                text=typed["text"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"Decided about {len(steps)} lots.")
            return redirect(reverse("deviations:detail", args=[deviation.pk]) + "#disposition")
    return deviation_page(request, deviation, deciding=form, status=status)


@needs(Right.RECORD)
@require_POST
def task_add(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    deviation = found_deviation(request, deviation_id)
    form = TaskForm(request.POST, premises=request.scope.premises)
    status = 422
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.task_add(
                scope=request.scope,
                task_id=typed["request_id"],
                deviation_id=deviation.pk,
                title=typed["title"],
                owner_id=typed["owner"].pk,
                due_on=typed["due_on"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{typed['owner'].name} has the task.")
            return redirect("deviations:detail", deviation.pk)
    return deviation_page(request, deviation, task=form, status=status)


@needs(Right.RECORD)
@require_POST
def task_do(request: ScopedRequest, task_id: UUID) -> HttpResponse:
    task = get_object_or_404(Task, pk=task_id, deviation__premises=request.scope.premises)
    worked = {"yes": True, "no": False}.get(request.POST.get("worked", ""))
    try:
        actions.task_do(scope=request.scope, task_id=task.pk, note=request.POST.get("note", ""), worked=worked)
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{task.title}: done.")
    return redirect("deviations:detail", task.deviation_id)


@needs(Right.RECORD)
@require_POST
def attach(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    deviation = found_deviation(request, deviation_id)
    form = EvidenceForm(request.POST, request.FILES)
    status = 422
    if form.is_valid():
        typed = form.cleaned_data
        try:
            content, filename = evidence_sent(request)
            actions.evidence_attach(
                scope=request.scope,
                evidence_id=typed["request_id"],
                deviation_id=deviation.pk,
                content=content,
                filename=filename,
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{filename} is kept with {deviation.reference}.")
            return redirect("deviations:detail", deviation.pk)
    return deviation_page(request, deviation, attaching=form, status=status)


@needs(Right.READ)
def evidence(request: ScopedRequest, evidence_id: UUID) -> HttpResponse:
    found = get_object_or_404(Evidence, pk=evidence_id, deviation__premises=request.scope.premises)
    return kept_file(found.filename, zlib.decompress(bytes(found.deflated)))


@needs(Right.CLOSE_DEVIATION)
@require_POST
def lot_end(request: ScopedRequest, deviation_id: UUID, lot_id: UUID) -> HttpResponse:
    deviation = found_deviation(request, deviation_id)
    try:
        end = actions.lot_end_record(
            scope=request.scope,
            end_id=uuid5(deviation.pk, str(lot_id)),
            deviation_id=deviation.pk,
            lot_id=lot_id,
            note=request.POST.get("note", ""),
            ended_at=timezone.now(),
        )
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{end.lot.code} is no more: {end.get_disposition_display()}.")
    return redirect("deviations:detail", deviation.pk)
