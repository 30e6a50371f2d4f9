"""Checks that nobody did: why, one by one or many at once, and what followed."""

from contextlib import suppress
from datetime import datetime
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from haccp.checks import actions, queries
from haccp.checks.forms.signing import ReasonForm, ReasonTogetherForm
from haccp.checks.unanswered import ids_of_kinds, missed_of_kind, unanswered
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def missed(request: ScopedRequest, missed_id: UUID) -> HttpResponse:
    found = queries.missed_in_full(request.scope.premises, missed_id)
    if found is None:
        raise Http404
    form = ReasonForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.missed_reason_give(scope=request.scope, missed_id=found.id, text=form.cleaned_data["text"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The reason is recorded.")
            return redirect("checks:missed", found.id)
    context: dict[str, object] = {
        "missed": found,
        "reason": getattr(found, "reason", None),
        "record": queries.record_of_due(found.due),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render_form(request, "checks/missed.html", context, form=form, status=status)


@needs(Right.READ)
def missed_list(request: ScopedRequest) -> HttpResponse:
    """All that is unanswered, by kind, or with ?kind= one by one of a kind; one reason for all that is ticked."""
    premises, now = request.scope.premises, timezone.now()
    initial = {"shown_at": now.isoformat(), "chosen": None}
    form = ReasonTogetherForm(request.POST or None, initial=initial)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            given = actions.missed_reasons_give(
                scope=request.scope, missed_ids=_ticked(request, form.cleaned_data["shown_at"]), text=form.reason()
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _answered(len(given)))
            return redirect("checks:missed_list" if unanswered(premises) else "checks:today")
    kind = request.GET.get("kind", "")
    context: dict[str, object] = {
        "kinds": [] if kind else unanswered(premises),
        "one_by_one": missed_of_kind(premises, kind) if kind else [],
        "ticked": {*request.POST.getlist("kind"), *request.POST.getlist("missed")},
        "can_record": request.scope.may(Right.RECORD),
    }
    return render_form(request, "checks/missed_list.html", context, form=form, status=status)


def _ticked(request: ScopedRequest, shown_at: datetime) -> set[UUID]:
    ids = ids_of_kinds(request.scope.premises, request.POST.getlist("kind"), shown_at)
    for one in request.POST.getlist("missed"):
        with suppress(ValueError):
            ids.add(UUID(one))
    return ids


def _answered(count: int) -> str:
    if not count:
        return "Somebody had already said why."
    return "The reason is recorded." if count == 1 else f"The reason is recorded for each of {count} missed checks."
