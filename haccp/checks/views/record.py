"""Doing a check, reading its record, amending it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from haccp.checks import actions, entry_pages, pictures, queries
from haccp.checks.forms.entries import AmendForm, EntriesForm, initial_of, limits_shown
from haccp.checks.forms.photos import take_in
from haccp.checks.judging import limits_of
from haccp.checks.models import Record, RulingRow
from haccp.checks.queries import CheckToDo
from haccp.checks.remarks import remarks_on
from haccp.checks.timing import timing_of
from haccp.checks.wording import worst
from haccp.ledger.queries import entries_for
from haccp.plan.document.own_review import CADENCE
from haccp.plan.models import Measure
from haccp.premises.errors import ActionError
from haccp.premises.local_time import keep_current
from haccp.premises.models import Instrument
from haccp.premises.queries import instruments_of
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.science.ruling import Ruling

TONES = {Ruling.MET: "ok", Ruling.CLOSE: "warn", Ruling.BREACHED: "bad", Ruling.UNPROVEN: "bad"}
ENTERED_AFTER = timedelta(minutes=15)


@needs(Right.RECORD)
def due(request: ScopedRequest, due_id: UUID) -> HttpResponse:
    """A check that is due. One that somebody has done already leads to its record."""
    todo = queries.due_to_do(request.scope.premises, due_id)
    if todo is None or todo.due is None:
        raise Http404
    if is_review(todo):
        return redirect("plan:review")
    done = queries.record_of_due(todo.due)
    page = entry_pages.page_of(todo)
    if page is not None and done is None and request.method != "POST":
        return redirect(page)
    if done is not None and request.method != "POST":
        messages.info(request, f"{done.recorded_by.name} has done this check; this is the record.")
        return redirect("checks:record", done.pk)
    return _do(request, todo)


@needs(Right.RECORD)
def extra(request: ScopedRequest, check_id: UUID) -> HttpResponse:
    """A check of the plan done without being due; ?lot= names the lot that it is about."""
    todo = queries.extra_to_do(request.scope.premises, check_id, lot_in(request))
    if todo is None:
        raise Http404
    if is_review(todo):
        return redirect("plan:review")
    return _do(request, todo)


def is_review(todo: CheckToDo) -> bool:
    """The review of the plan is signed on a page of its own."""
    return bool(todo.check.cadence == CADENCE)


def _do(request: ScopedRequest, todo: CheckToDo) -> HttpResponse:
    instruments = instruments_for(request, todo)
    initial = first_values(todo, instruments, timezone.now())
    data, unread = take_in(request, request.scope, todo) if request.method == "POST" else (None, None)
    form = EntriesForm(data, todo=todo, instruments=instruments, user=request.scope.user, initial=initial)
    if initial["observed_at"] is not None:
        keep_current(form, "observed_at")
    context = todo_context(request, todo)
    status = 0
    if unread is not None:
        form.is_valid()
        status = refuse(form, unread)
    elif request.method == "POST" and form.is_valid():
        try:
            saved = actions.record_save(
                scope=request.scope,
                record_id=form.cleaned_data["record_id"],
                check_id=todo.check.id,
                entries=form.entries(),
                observed_at=form.cleaned_data["observed_at"],
                due_id=todo.due.id if todo.due else None,
                lot_id=todo.lot.id if todo.lot else None,
                instrument_id=form.cleaned_data.get("instrument"),
                note=form.cleaned_data["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
            context["done"] = queries.record_of_due(todo.due) if todo.due else None
        else:
            return answer(saved.record)
    return render_form(request, "checks/check.html", context, form=form, status=status)


def answer(record: Record) -> HttpResponse:
    """Where a saved check leads: its record, which says at once what the limits say."""
    return redirect(f"{reverse('checks:record', args=[record.pk])}?saved=1")


def lot_in(request: ScopedRequest) -> UUID | None:
    try:
        return UUID(request.GET["lot"]) if request.GET.get("lot") else None
    except ValueError:
        raise Http404 from None


def instruments_for(request: ScopedRequest, todo: CheckToDo) -> list[Instrument]:
    kind = todo.check.instrument_kind
    return list(instruments_of(request.scope.premises, kind)) if kind else []


def first_values(todo: CheckToDo, instruments: list[Instrument], observed_at: datetime) -> dict[str, object]:
    usual = queries.usual_instrument(todo.check, instruments) if instruments else None
    # Of a late entry only the person knows when it was observed.
    is_late_entry = todo.due is not None and hasattr(todo.due, "missed")
    minute = None if is_late_entry else observed_at.replace(second=0, microsecond=0)
    return {"observed_at": minute, "instrument": usual and usual.id}


def todo_context(request: ScopedRequest, todo: CheckToDo) -> dict[str, object]:
    recorder = [one for one in todo.check.measures.all() if one.kind == Measure.Kind.RECORDER_FILE]
    return {
        "todo": todo,
        "limits": limits_shown(limits_of(todo.check, todo.lot), request.scope.user),
        "last": queries.last_record(todo),
        "recorder_measure": recorder[0] if recorder else None,
        "upload_url": upload_url(todo) if recorder else "",
        "needs_file": any(one.required for one in recorder),
    }


def upload_url(todo: CheckToDo) -> str:
    if todo.due is not None:
        return reverse("checks:trace_upload", args=[todo.due.id])
    lot = f"?lot={todo.lot.id}" if todo.lot else ""
    return reverse("checks:trace_upload_extra", args=[todo.check.id]) + lot


@needs(Right.READ)
def record(request: ScopedRequest, record_id: UUID) -> HttpResponse:
    """Everything of a record; straight after saving also what to do next."""
    found = queries.record_in_full(request.scope.premises, record_id)
    if found is None:
        raise Http404
    versions = queries.versions_of(found)
    rulings = list(found.rulings.all())
    was_missed = found.due is not None and hasattr(found.due, "missed")
    context = {
        "record": found,
        "rulings": rulings,
        "remarks": remarks_on([found]).get(found.pk, []),
        "tone": _tone(rulings),
        "unsatisfied": [row for row in rulings if Ruling(row.ruling).opens_deviation],
        "versions": versions,
        "latest": versions[-1],
        "entered_after": found.recorded_at - found.observed_at >= ENTERED_AFTER,
        "is_late_entry": was_missed or _day(request, found.recorded_at) != _day(request, found.observed_at),
        "was_missed": was_missed,
        "timing": timing_of(found),
        "entry": entries_for(f"record:{found.id}", log_id=request.scope.log_id).first(),
        "picture": _picture(request, found),
        "just_saved": "saved" in request.GET,
        "can_record": request.scope.may(Right.RECORD),
        "time_source": settings.TIME_SOURCE,
    }
    if context["just_saved"]:
        context["next_due"] = queries.next_in_round(request.scope.premises, place_id=found.place_id, now=timezone.now())
    return render(request, "checks/record.html", context)


def _tone(rulings: Sequence[RulingRow]) -> str:
    found = worst(row.ruling for row in rulings)
    return TONES.get(Ruling(found), "info") if found else "info"


def _day(request: ScopedRequest, moment: datetime) -> object:
    return request.scope.premises.local_date(moment)


def _picture(request: ScopedRequest, record: Record) -> str | None:
    if record.trace is None:
        return None
    for row in record.rulings.all():
        if row.limit.evaluator == "holding":
            return pictures.heat_picture(
                record.trace,
                roles=record.trace_roles,
                limit=row.limit,
                reason=row.reason,
                facts=row.facts,
                temperature_unit=request.scope.user.temperature_unit,
            )
    return None


@needs(Right.RECORD)
def amend(request: ScopedRequest, record_id: UUID) -> HttpResponse:
    """A further version of a record, with the reason."""
    original = queries.record_in_full(request.scope.premises, record_id)
    if original is None:
        raise Http404
    found = queries.extra_to_do(request.scope.premises, original.check_done_id, original.lot_id)
    if found is None:
        raise Http404
    latest = queries.versions_of(original)[-1]
    if latest.pk != original.pk and request.method != "POST":
        messages.info(request, "This record was amended meanwhile; this is its latest version.")
        return redirect("checks:record", latest.pk)
    data, unread = take_in(request, request.scope, found) if request.method == "POST" else (None, None)
    form = AmendForm(
        data,
        todo=found,
        instruments=_with(instruments_for(request, found), original.instrument),
        user=request.scope.user,
        initial=initial_of(original),
    )
    status = 0
    if unread is not None:
        form.is_valid()
        status = refuse(form, unread)
    elif request.method == "POST" and form.is_valid():
        try:
            saved = actions.record_amend(
                scope=request.scope,
                record_id=form.cleaned_data["record_id"],
                amends_id=original.id,
                entries=form.entries(),
                observed_at=form.cleaned_data["observed_at"],
                reason=form.cleaned_data["reason"],
                instrument_id=form.cleaned_data.get("instrument"),
                note=form.cleaned_data["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return answer(saved.record)
    context: dict[str, object] = {"record": original, "latest": latest}
    return render_form(request, "checks/amend.html", context, form=form, status=status)


def _with(instruments: list[Instrument], own: Instrument | None) -> list[Instrument]:
    """The instrument of a record stays a choice when it was retired since."""
    return instruments if own is None or own in instruments else [*instruments, own]
