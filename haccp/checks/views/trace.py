"""A recorder's file for a heat treatment: bring it in, see it drawn against its limit, save it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from urllib.parse import urlencode
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString

from haccp.checks import actions, pictures, queries
from haccp.checks.forms.recorder import ConfirmForm, UploadForm, oversized_sentence
from haccp.checks.judging import judge_trace
from haccp.checks.models import Record, TraceFile
from haccp.checks.queries import CheckToDo
from haccp.checks.views.record import answer, first_values, instruments_for, lot_in, todo_context
from haccp.plan.models import CriticalLimit
from haccp.premises.errors import ActionError
from haccp.premises.models import Instrument
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.uploads import OVERSIZED_KEY
from haccp.science.ruling import Verdict


@needs(Right.RECORD)
def upload(request: ScopedRequest, due_id: UUID) -> HttpResponse:
    """Brings in the file for a check that is due."""
    todo = queries.due_to_do(request.scope.premises, due_id)
    if todo is None:
        raise Http404
    return _upload(request, todo)


@needs(Right.RECORD)
def upload_extra(request: ScopedRequest, check_id: UUID) -> HttpResponse:
    """Brings in the file for a check done without being due; ?lot= names the lot."""
    todo = queries.extra_to_do(request.scope.premises, check_id, lot_in(request))
    if todo is None:
        raise Http404
    return _upload(request, todo)


def _upload(request: ScopedRequest, todo: CheckToDo) -> HttpResponse:
    form = UploadForm(request.POST or None, request.FILES or None)
    status = 0
    if OVERSIZED_KEY in request.META:
        form.fields["file"].error_messages["required"] = oversized_sentence(request.META[OVERSIZED_KEY])
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data["file"]
        try:
            stored = actions.trace_store_file(
                scope=request.scope,
                trace_id=form.cleaned_data["trace_id"],
                data=sent.read(),
                filename=sent.name,
                lot_id=todo.lot.id if todo.lot else None,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect(f"{reverse('checks:trace_confirm', args=[stored.id])}?{_about(todo)}")
    return render_form(request, "checks/trace_upload.html", todo_context(request, todo), form=form, status=status)


def _about(todo: CheckToDo) -> str:
    if todo.due is not None:
        return urlencode({"due": todo.due.id})
    return urlencode({"check": todo.check.id} | ({"lot": todo.lot.id} if todo.lot else {}))


@needs(Right.RECORD)
def confirm(request: ScopedRequest, trace_id: UUID) -> HttpResponse:
    """Shows what was read and what the limit would say; saves when the person agrees.

    ?due= or ?check=&lot= names the check. The button "look again" judges by other channels or another instrument
    without saving.
    """
    trace = queries.trace_of(request.scope.premises, trace_id)
    todo = _todo_named(request)
    if trace is None or todo is None:
        raise Http404
    instruments = instruments_for(request, todo)
    ended_at = min(trace.started_at + timedelta(seconds=trace.duration_s), timezone.now())
    initial = first_values(todo, instruments, ended_at)
    # Also of a late entry: here the file says when it was.
    initial["observed_at"] = ended_at.replace(second=0, microsecond=0)
    looks_again = "look_again" in request.POST
    form = ConfirmForm(
        request.POST or None,
        todo=todo,
        instruments=instruments,
        user=request.scope.user,
        trace=trace,
        initial=initial,
    )
    status = 0
    if request.method == "POST" and form.is_valid() and not looks_again:
        try:
            return answer(_save(request, form, todo, trace))
        except ActionError as error:
            status = refuse(form, error)
    context = todo_context(request, todo) | {
        "trace": trace,
        "ended_at": ended_at,
        "other_uses": queries.other_uses(trace, todo.lot),
    }
    context |= _outlook(request, form, todo, trace, instruments, ended_at)
    if looks_again:
        status = 200
    return render_form(request, "checks/trace_confirm.html", context, form=form, status=status)


def _todo_named(request: ScopedRequest) -> CheckToDo | None:
    premises = request.scope.premises
    try:
        if request.GET.get("due"):
            return queries.due_to_do(premises, UUID(request.GET["due"]))
        return queries.extra_to_do(premises, UUID(request.GET.get("check", "")), lot_in(request))
    except ValueError:
        return None


def _save(request: ScopedRequest, form: ConfirmForm, todo: CheckToDo, trace: TraceFile) -> Record:
    saved = actions.record_save(
        scope=request.scope,
        record_id=form.cleaned_data["record_id"],
        check_id=todo.check.id,
        entries=form.entries(),
        observed_at=form.cleaned_data["observed_at"],
        due_id=todo.due.id if todo.due else None,
        lot_id=todo.lot.id if todo.lot else None,
        instrument_id=form.cleaned_data.get("instrument"),
        trace_id=trace.id,
        trace_roles=form.roles(),
        note=form.cleaned_data["note"],
    )
    return saved.record


def _outlook(
    request: ScopedRequest,
    form: ConfirmForm,
    todo: CheckToDo,
    trace: TraceFile,
    instruments: Sequence[Instrument],
    ended_at: datetime,
) -> dict[str, object]:
    """The would-be rulings, each with its picture, by what is chosen in the form as it stands."""
    chosen = form.cleaned_data.get("instrument") if form.is_bound else form.initial.get("instrument")
    instrument = next((one for one in instruments if one.id == chosen), None)
    roles = form.roles()
    verdicts = judge_trace(
        premises=request.scope.premises,
        check=todo.check,
        lot=todo.lot,
        instrument=instrument,
        trace=trace,
        roles=roles,
        observed_at=ended_at,
    )
    return {
        "outlook": [(limit, verdict, _picture(request, trace, roles, limit, verdict)) for limit, verdict in verdicts],
        "instrument": instrument,
    }


def _picture(
    request: ScopedRequest, trace: TraceFile, roles: dict[str, str], limit: CriticalLimit, verdict: Verdict
) -> SafeString | None:
    if limit.evaluator != "holding":
        return None
    return pictures.heat_picture(
        trace,
        roles=roles,
        limit=limit,
        reason=verdict.reason,
        facts=verdict.facts,
        temperature_unit=request.scope.user.temperature_unit,
    )
